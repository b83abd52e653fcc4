"""The luck-of-the-clock list: unordered pairs by their gap, and only those."""

from __future__ import annotations

import json
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from outputs.small_plan import Builder, Checked, count_positions, crane, minutes

from jackstay.flow.clocks import happens_before
from jackstay.outputs.build import build
from jackstay.outputs.luck import pairs_of
from jackstay.outputs.views import views_of
from jackstay.pipeline import check


def two_lists(
    first: list[int], second: list[int], apart: bool = False, links: tuple[tuple[int, int], ...] = ()
) -> Checked:
    """Two actors with steps of so many minutes; apart: at two places."""
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    b.thing("room-b", "room")
    b.thing("ann", "person", at="room-a")
    b.thing("bob", "person", at="room-b" if apart else "room-a")
    b.excursion("one", ("ann", "bob"))
    task = b.task("all")
    for name, lengths in (("ann", first), ("bob", second)):
        for length in lengths:
            b.step(b.entry(task, b.block(name), (name,), b.action("work", minutes(length)), text="work"))
    plan = b.checked()
    flow = plan.flow.excursions[0]
    for earlier, later in links:
        flow.predecessors[later] = (*flow.predecessors[later], earlier)
    count_positions(flow)
    return plan


def listed(plan: Checked) -> list[tuple[int, int, int]]:
    (view,) = views_of(plan.flow)
    return [(p.first.index, p.second.index, int((p.apart or 0) / 60)) for p in pairs_of(plan.world, view) if not p.race]


def test_neighbours_by_their_gap_smallest_first() -> None:
    # ann 0-4, 4-6; bob 0-7, 7-12
    assert listed(two_lists([4, 2], [7, 5])) == [(1, 3, 1)]
    # ann 0-2, 2-9; bob 0-5, 5-6, 6-20
    assert listed(two_lists([2, 7], [5, 1, 14])) == [(0, 3, 3)]


def test_steps_elsewhere_and_ordered_steps_are_not_listed() -> None:
    assert listed(two_lists([4, 2], [7, 5], apart=True)) == []
    assert listed(two_lists([4, 2], [7, 5], links=((1, 3),))) == []


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(1, 9), min_size=1, max_size=5), st.lists(st.integers(1, 9), min_size=1, max_size=5))
def test_the_smallest_gap_of_all_unordered_pairs_is_in_it(first: list[int], second: list[int]) -> None:
    plan = two_lists(first, second)
    (view,) = views_of(plan.flow)
    times = view.times
    assert times is not None
    steps = view.flow.steps
    gaps = [
        int((times.start[t.index] - times.end[s.index]) / 60)
        for s in steps
        for t in steps
        if s.cast != t.cast
        and times.start[t.index] >= times.end[s.index]
        and not happens_before(s, t)
        and not happens_before(t, s)
    ]
    found = listed(plan)
    assert [gap for *_, gap in found] == sorted(gap for *_, gap in found)
    assert min((gap for *_, gap in found), default=None) == min(gaps, default=None)


def test_a_step_beside_another_is_not_luck() -> None:
    plan = crane()
    flow = plan.flow.excursions[0]
    (view,) = views_of(plan.flow)
    beside = set(flow.companions)
    assert beside and not beside & {(p.first.index, p.second.index) for p in pairs_of(plan.world, view)}


RACES = """use units
kind diver is actor
kind quay is location
  ground
kind tank is item
  has gas: clear or foul, usually clear
action foul TANK: tank
  by     diver
  makes  gas of TANK is foul
action try TANK: tank
  by     diver
  needs  gas of TANK is clear
action rest
  by     diver
location pier : quay
actor mara, jonas : diver, at pier
item tank-a, tank-b, tank-c : tank, on pier

excursion cut
  crew mara, jonas
  task work : required
    mara
      try tank-a [2 min]
      try tank-b [2 min]
      try tank-c
    jonas
      rest [5 min]
      foul tank-a [1 min]
      foul tank-b [1 min]
      foul tank-c [1 min]
"""


def test_races_come_first_by_their_gap_and_are_marked(tmp_path: Path) -> None:
    (tmp_path / "plan.stay").write_text(RACES, encoding="utf-8")
    result = check(tmp_path / "plan.stay")
    assert {one.rule for one in result.diagnostics} >= {"may-come-first"}
    made = build(result, unchecked=True)
    page = made["luck.txt"].decode()
    assert page.startswith("UNCHECKED")
    races = page.split("MAY COME FIRST")[1].split("the other pairs")[0]
    assert races.index("2 min  Mara: try tank-b") < races.index("3 min  Mara: try tank-a") < races.index("not known")
    pairs = [p for p in json.loads(made["plan.json"])["excursions"][0]["luck"] if p["race"]]
    assert [(p["apart"], p["share"]) for p in pairs] == [(120, ["tank-b"]), (180, ["tank-a"]), (None, ["tank-c"])]
