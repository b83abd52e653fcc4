"""Sets of droppable tasks: what is taken to be independent is so.

More: ``python tests/oracles/run_variants.py --sets --plans 5000 --jobs 2``.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from oracles.combinations import ALONE, CREW, PLANS, SEEN, SETS, WORDS
from oracles.generate_sets import sets_from
from oracles.judging import Unreadable, problems_of
from oracles.sets import compared, every_set, judged, readable, told
from oracles.timings import TooMany

from jackstay.flow import dropping, footprints, independence, without
from jackstay.flow.footprints import Side
from jackstay.flow.independence import Footprint, dependent
from jackstay.model.from_syntax import build_world
from jackstay.model.records import Task, World
from jackstay.rules import registry
from jackstay.source.files import source_from_text
from jackstay.source.library import Library
from jackstay.syntax.modules import load

CLEAN, LEANS = (False, False, False), (False, True, False)

# Of these, some fail only without two, three or four tasks, in one excursion or over two.
CHOSEN = (128, 137, 224, 260, 328, 337, 372, 437, 588, 635, 835, 845)


def world_in(files: dict[str, str]) -> World:
    library = Library(Path("/nowhere"))
    for name, text in files.items():
        library.overlay[f"{name}.stay"] = source_from_text(f"{name}.stay", text)
    loaded = load(library, "plan")
    world, problems = build_world(loaded.modules)  # type: ignore[arg-type]
    problems = [*loaded.problems, *problems]
    if problems:
        raise Unreadable(f"{[(p.rule, p.at, p.facts) for p in problems]}")
    return world


def test_every_set_finds_no_more() -> None:
    said = set()
    for seed in (*range(24), *CHOSEN):
        plan, second = sets_from(seed)
        assert len(plan.ranks) >= 4
        found, agrees = compared(plan, second)
        assert agrees, f"seed {seed}: {found}"
        said.add((found, bool(second)))
    assert said >= {(found, two) for found in ("clean", "leans") for two in (False, True)}


def test_every_timing_of_every_set_agrees() -> None:
    said = set()
    for seed in (*range(14), *CHOSEN[:6]):
        plan, second = sets_from(seed)
        if not readable(plan):
            continue
        try:
            found, agrees = judged(plan, second)
        except TooMany:
            continue
        assert agrees, f"seed {seed}: {found}"
        said.add(found)
    assert said >= {"clean", "dropped"}


# --- each condition of independence is needed ------------------------------------------------------------------------


@pytest.mark.parametrize("name", PLANS)
def test_what_two_leave_undone_together_is_found(name: str) -> None:
    world = world_in(PLANS[name])
    assert told(world) == LEANS
    with every_set():
        assert told(world) == LEANS


@pytest.mark.parametrize("name", PLANS)
def test_without_the_condition_it_is_not_found(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_in(PLANS[name])
    if name == "order":
        monkeypatch.setattr(independence, "_other_order", lambda a, b: False)
    else:
        rest = tuple(c for c in independence.CONDITIONS if c.__name__ != name)
        assert len(rest) == len(independence.CONDITIONS) - 1
        monkeypatch.setattr(independence, "CONDITIONS", rest)
    assert told(world) == CLEAN


@pytest.mark.parametrize("name", SEEN)
def test_what_looks_and_is_no_step_counts(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_in(SEEN[name])
    assert told(world) == LEANS
    monkeypatch.setattr(without, "probe", lambda part, gone: None)
    monkeypatch.setattr(without.Campaign, "_promise", lambda self, part, gone: None)
    assert told(world) == CLEAN


def test_tasks_are_not_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    """First and third do not know of one another, as long as the second is there."""
    world = world_in(SETS)
    assert told(world) == LEANS

    def tasks_only(a: Footprint, b: Footprint) -> bool:
        return len(a.of) == len(b.of) == 1 and dependent(a, b)

    monkeypatch.setattr(independence, "dependent", tasks_only)
    assert told(world) == CLEAN


# --- what is not flown -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ALONE)
def test_what_no_step_knows_of_is_found(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_in(ALONE[name])
    assert told(world) == LEANS
    if name == "done":
        monkeypatch.setattr(without, "probe", lambda part, gone: None)
    else:
        monkeypatch.setattr(without, "_keeps", lambda part: True)
    assert told(world) == CLEAN


def test_a_walk_that_feels_nothing_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_in(PLANS["race"])
    whole = Side.walk

    def walk(self: Side) -> bool:
        whole(self)
        return True

    monkeypatch.setattr(footprints.Side, "walk", walk)
    assert told(world) == CLEAN


def test_as_many_tasks_as_you_like(monkeypatch: pytest.MonkeyPatch) -> None:
    """Tasks that know nothing of one another are not even flown without."""
    files = dict(PLANS["touch"])
    lamps = "".join(f"location lamp-{n} : lamp\n" for n in range(20))
    tasks = "".join(f"  task t{n} : get-ahead\n    max\n      darken lamp-{n}\n" for n in range(20))
    files["plan"] = files["plan"].replace("excursion day", f"{lamps}excursion day") + tasks
    flown: list[frozenset[Task]] = []
    whole = dropping.Drops._try

    def counting(self: dropping.Drops, gone: frozenset[Task]) -> object:
        flown.append(gone)
        return whole(self, gone)

    monkeypatch.setattr(dropping.Drops, "_try", counting)
    assert told(world_in(files)) == LEANS
    assert [sorted(t.name for t in gone) for gone in flown] == [["first-off"], ["first-off", "second-off"]]


def test_too_many_that_know_of_one_another_are_not_decided(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seven leave a yard for nine, and three come: all of the seven would have to stay for it to be too full."""
    names = [f"w{n}" for n in range(7)]
    actors = f"actor {', '.join(names)} : worker, at big\nactor ida, jon, kit : worker, at hall\n"
    places = "location big : bench, room 9\npath hall to big 5 m\n"
    lines = [f"excursion day\n  crew {', '.join([*names, 'ida, jon, kit'])}"]
    before = ""
    for n, name in enumerate([*names, "ida", "jon", "kit"]):
        rank, to = ("get-ahead", "hall") if n < 7 else ("required", "big")
        lines += [f"  task t{n} : {rank}", f"    {name}", f"      go to {to}{before}, says over"]
        before = f", on t{n}.over"
    words = WORDS.replace("location hall : bench", "location hall : bench, room 10")
    world = world_in({"plan": words + places + actors + "\n".join(lines) + "\n"})
    assert told(world) == (False, False, True)
    monkeypatch.setattr(dropping, "MOST_SETS", 127)
    assert told(world) == LEANS


def test_tasks_that_exclude_one_another_may_wait_in_a_circle() -> None:
    """Each of two guarded tasks waits for the other, and they are never flown together."""
    first = """location lantern : lamp
excursion one
  crew max
  task first : get-ahead
    max
      darken lantern
  task second : get-ahead
    max
      darken lantern
"""
    later = """use one
excursion two
  crew max, lea
  starts as one ends
  task with-it : required, only if one.first is done
    max
      rely on lantern, on without-it.over, says over
  task without-it : required, only if one.first is not done
    lea
      rely on lantern, on with-it.over, says over
"""
    listed = "use one\nuse two\ncampaign plan\n  excursions one, two\n"
    assert told(world_in({"one": WORDS + CREW + first, "two": later, "plan": listed})) == LEANS


def test_what_only_a_variant_leaves_undecided_is_said() -> None:
    """Without the first filling the choice goes by the second chest, which may be full by then or not."""
    things = """actor ida : worker, at hall
actor max, lea : clerk, at hall
item chest 1 to 2 : box, charge empty, on peg of hall
"""
    body = """excursion day
  crew ida, max, lea
  task fill-first : get-ahead
    max
      fill chest-1, says filled
  task fill-other : required
    lea
      fill chest-2
  task measuring : required
    ida
      measure with any chest, on fill-first.filled
"""
    world = world_in({"plan": WORDS + things + body})
    undecided = [p for p in problems_of(world) if p.rule == "not-decided"]
    said = [registry.tell(problem, None).message for problem in undecided]
    assert said == ["When fill-first is dropped: Only one choice of any chest has been followed: chest-2."]
