"""Races told with their minutes and a failing order; one repair for all of an excursion."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from oracles.generate import plan_from
from oracles.writing import text_of

from jackstay.diagnostics.edits import apply_edits
from jackstay.diagnostics.records import Diagnostic, Fix
from jackstay.flow.records import ExcursionFlow
from jackstay.pipeline import Checked, check
from jackstay.rules.order import _mending

PLAN = """use units
kind diver is actor
  holds 2 item by hand
kind hooks is location
  holds any tool by hook
kind tool is item
  has state: wet or dry, usually dry
action take TOOL: tool from HOLDER: location
  by     diver
  needs  TOOL on HOLDER, HOLDER in reach
  makes  TOOL in hand of actor, then TOOL not on HOLDER
action hang TOOL: tool on HOLDER: location
  by     diver
  needs  TOOL in hand of actor, HOLDER in reach
  makes  TOOL on HOLDER, then TOOL not in hand of actor
action wet TOOL: tool
  by     diver
  makes  state of TOOL is wet
action scrub TOOL: tool
  by     diver
  needs  state of TOOL is dry
action rest
  by     diver
location pier : hooks
actor mara, jonas : diver, at pier
item saw, axe : tool, on pier

excursion cut
  crew mara, jonas
  task work : required
"""


def checked(folder: Path, text: str) -> Checked:
    (folder / "plan.stay").write_text(text, encoding="utf-8")
    return check(folder / "plan.stay")


def races(result: Checked) -> list[Diagnostic]:
    return [one for one in result.diagnostics if one.rule == "may-come-first"]


def first_race(folder: Path, body: str) -> Diagnostic:
    found = races(checked(folder, PLAN + body))
    assert found
    return found[0]


def plan(*blocks: tuple[str, list[str]]) -> str:
    return "".join(f"    {who}\n" + "".join(f"      {step}\n" for step in steps) for who, steps in blocks)


def test_the_minutes_that_keep_them_apart_are_told(tmp_path: Path) -> None:
    body = plan(
        ("mara", ["take saw from pier [2 min]", "hang saw on pier [1 min]"]),
        ("jonas", ["rest [6 min]", "take saw from pier [1 min]", "hang saw on pier [1 min]"]),
    )
    assert first_race(tmp_path, body).because.endswith("by the nominal times they are 3 min apart: luck of the clock")


def test_the_wrong_way_round_and_at_once_are_told_too(tmp_path: Path) -> None:
    late = plan(
        ("mara", ["rest [9 min]", "take saw from pier [1 min]", "hang saw on pier [1 min]"]),
        ("jonas", ["take saw from pier [1 min]", "hang saw on pier [1 min]"]),
    )
    told = first_race(tmp_path, late).because
    assert "it is the other way round by 9 min: Jonas takes saw from pier first" in told
    at_once = plan(
        ("mara", ["take saw from pier [4 min]", "hang saw on pier [4 min]"]),
        ("jonas", ["rest [6 min]", "take saw from pier [9 min]", "hang saw on pier [1 min]"]),
    )
    assert "they overlap for 2 min" in first_race(tmp_path, at_once).because


def test_without_a_duration_nothing_is_said(tmp_path: Path) -> None:
    body = plan(
        ("mara", ["take saw from pier", "hang saw on pier"]), ("jonas", ["take saw from pier", "hang saw on pier"])
    )
    assert "nominal" not in first_race(tmp_path, body).because


def test_the_events_are_an_order_that_fails(tmp_path: Path) -> None:
    body = plan(
        ("mara", ["take saw from pier", "hang saw on pier"]), ("jonas", ["take saw from pier", "hang saw on pier"])
    )
    events = first_race(tmp_path, body).events
    # Nothing before Jonas's step is needed for it; once Mara has taken the saw it is not there for him.
    assert [(one.actor, one.text.split()[0]) for one in events] == [
        ("Mara", "takes"),
        ("Jonas", "takes"),
        ("Mara", "hangs"),
    ]
    assert [one.leaves for one in events[1:]] == ["comes first, when the saw is not on the pier", "comes only then"]


def test_what_fails_only_at_once_is_told_as_that(tmp_path: Path) -> None:
    events = first_race(tmp_path, plan(("mara", ["wet saw"]), ("jonas", ["wet saw"]))).events
    assert [(one.actor, one.text.split()[0]) for one in events] == [("Mara", "wets"), ("Jonas", "wets")]
    assert events[-1].leaves == "begins before that is over: nobody can rely on the state of the saw then"


def test_a_step_that_fails_without_the_first_is_told_alone(tmp_path: Path) -> None:
    text = PLAN.replace("item saw, axe : tool, on pier", "item saw : tool, on hand of mara")
    body = plan(("mara", ["hang saw on pier"]), ("jonas", ["take saw from pier", "hang saw on pier"]))
    found = races(checked(tmp_path, text + body))
    leaves = [one.leaves for one in found[0].events]
    assert leaves == ["comes first, when the saw is not on the pier", "comes only then"]
    assert [one.actor for one in found[0].events] == ["Jonas", "Mara"]


def test_a_step_that_fails_after_the_second_is_told_after_it(tmp_path: Path) -> None:
    found = first_race(tmp_path, plan(("mara", ["scrub saw"]), ("jonas", ["wet saw"])))
    assert [one.actor for one in found.events] == ["Jonas", "Mara"]
    assert found.events[0].leaves.startswith("comes first; state of saw: wet")
    assert found.events[1].leaves == "comes only then, when the state of the saw is not dry"


def all_at_once(found: list[Diagnostic]) -> list[Fix]:
    return [fix for one in found for fix in one.help if "this excursion" in fix.text]


def test_one_call_is_enough_where_one_wait_stands_between(tmp_path: Path) -> None:
    body = plan(
        ("mara", ["take saw from pier", "hang saw on pier", "take axe from pier", "hang axe on pier"]),
        ("jonas", ["take saw from pier", "hang saw on pier", "take axe from pier", "hang axe on pier"]),
    )
    result = checked(tmp_path, PLAN + body)
    (fix,) = all_at_once(races(result))
    assert fix in races(result)[0].help, "it stands at the first"
    assert fix.text.startswith("one call puts") and len(fix.edits) == 2
    text = apply_edits((tmp_path / "plan.stay").read_text(), fix.edits)
    assert not checked(tmp_path, text).diagnostics


def test_one_call_for_this_pair_and_for_all_is_one_repair(tmp_path: Path) -> None:
    body = plan(
        ("mara", ["take axe from pier", "hang axe on pier", "take saw from pier", "hang saw on pier"]),
        ("jonas", ["take saw from pier", "hang saw on pier", "take axe from pier", "hang axe on pier"]),
    )
    first = races(checked(tmp_path, PLAN + body))[0]
    (fix,) = first.help
    assert fix.text.startswith("let ") and ": one call puts everything in this excursion" in fix.text
    assert not checked(tmp_path, apply_edits((tmp_path / "plan.stay").read_text(), fix.edits)).diagnostics


def test_a_single_race_has_no_second_help(tmp_path: Path) -> None:
    body = plan(
        ("mara", ["take saw from pier", "hang saw on pier"]), ("jonas", ["take saw from pier", "hang saw on pier"])
    )
    assert not all_at_once(races(checked(tmp_path, PLAN + body)))


@pytest.fixture(scope="module")
def loosened() -> list[str]:
    """Generated plans with no order left between actors."""
    made = [plan_from(5 * seed) for seed in range(4000, 4130)]
    return [text_of(replace(one, after={}, steps=[replace(step, on=()) for step in one.steps])) for one in made]


def test_the_calls_clear_every_race_of_generated_plans(loosened: list[str], tmp_path: Path) -> None:
    mended = several = 0
    for text in loosened:
        before = checked(tmp_path, text)
        for fix in all_at_once(races(before)):
            mended += 1
            several += len(fix.edits) > 2
            after = checked(tmp_path, apply_edits(text, fix.edits))
            rules = {one.rule for one in after.diagnostics}
            assert not rules & {"may-come-first", "circular-wait"}, f"{fix}\n{text}"
            assert after.flow is not None, f"{fix}\n{text}"
    assert mended > 20 and several > 8, (mended, several)


def forward(flow: ExcursionFlow) -> list[_mending.Call]:
    """Every call with the replayed order from the end of one entry to the start of another."""
    entries = [steps for steps in flow.by_entry.values() if steps]
    mains = [next((s for s in reversed(steps) if not s.inserted), steps[-1]) for steps in entries]
    firsts = [steps[0] for steps in entries]
    return [_mending.Call(a, b) for a in mains for b in firsts if a.index < b.index and not set(a.cast) & set(b.cast)]


def test_two_actors_need_no_fewer_calls(loosened: list[str], tmp_path: Path) -> None:
    compared = 0
    for text in loosened:
        result = checked(tmp_path, text)
        assert result.flow is not None
        flow = result.flow.excursions[0]
        pairs = _mending.racing_pairs(flow)
        actors = {actor for pair in pairs for step in pair for actor in step.cast}
        calls = _mending.fewest_calls(flow, pairs) if len(actors) == 2 else None
        if calls is None or not 2 <= len(calls) <= 3:
            continue
        compared += 1
        for fewer in combinations(forward(flow), len(calls) - 1):
            assert not _mending._settled(flow, fewer), f"{fewer}\n{text}"
    assert compared >= 3, compared


def test_a_plan_without_findings_is_never_timed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import jackstay.timing.schedule as timing

    def refuse(flow: ExcursionFlow) -> None:
        raise AssertionError("timed")

    monkeypatch.setattr(timing, "schedule", refuse)
    body = plan(("mara", ["take saw from pier", "hang saw on pier"]))
    assert not checked(tmp_path, PLAN + body).diagnostics
    with pytest.raises(AssertionError, match="timed"):
        checked(tmp_path, PLAN + plan(("mara", ["scrub saw"]), ("jonas", ["wet saw"])))


ROOM = """use units
kind diver is actor
kind cage is location
  admits 1 diver
  has air: on or off, usually on
kind bench is item
action swim to PLACE: location
  by     diver
  serves actor at PLACE along paths
  makes  actor at PLACE
  takes  2 min
action sit on BENCH: bench
  by     diver
  needs  nobody on BENCH
  makes  actor on BENCH
action leave BENCH: bench
  by     diver
  makes  actor not on BENCH
action stop air of CAGE: cage
  by     diver
  makes  air of CAGE is off from afar
action rest
  by     diver
kind deck is location
  ground
location pier : deck
location cage-a : cage
path pier to cage-a 8 m
actor mara, jonas : diver, at pier
item stool : bench, on pier
rule air "Air while somebody is in"
  never anyone at CAGE: cage while air of CAGE is off

excursion cut
  crew mara, jonas
  task work : required
"""


@pytest.mark.parametrize(
    ("rule", "body", "told"),
    [
        (
            "may-exceed",
            [
                ("mara at cage-a", ["rest [1 min]"]),
                ("mara at pier", []),
                ("jonas", ["rest [9 min]"]),
                ("jonas at cage-a", []),
                ("jonas at pier", []),
            ],
            "they are 4 min apart: luck of the clock",
        ),
        (
            "rule-may-break",
            [
                ("mara at cage-a", ["rest [1 min]"]),
                ("mara at pier", []),
                ("jonas", ["rest [6 min]", "stop air of cage-a [1 min]"]),
            ],
            "they are 1 min apart: luck of the clock",
        ),
        (
            "need-may-fail",
            [
                ("mara", ["sit on stool [1 min]", "rest [1 min]", "leave stool [1 min]"]),
                ("jonas", ["rest [5 min]", "sit on stool [1 min]", "leave stool [1 min]"]),
            ],
            "they are 2 min apart: luck of the clock",
        ),
    ],
)
def test_what_holds_for_a_while_tells_its_minutes_too(
    rule: str, body: list[tuple[str, list[str]]], told: str, tmp_path: Path
) -> None:
    found = [one for one in checked(tmp_path, ROOM + plan(*body)).diagnostics if one.rule == rule]
    assert found and found[-1].because.endswith(told), [(one.rule, one.because) for one in found]
