"""Where a thing may be when a step begins: against every set of steps that may be over by then."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from oracles.generate import plan_from
from oracles.judging import world_of
from oracles.writing import text_of
from outputs.small_plan import pier

from jackstay.commands.main import main
from jackstay.flow.analyse import analyse
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.outputs.moment import Moment, TooMany, Unordered
from jackstay.outputs.trace import UnknownThing
from jackstay.outputs.trace_at import NoStepThere, questions, trace_at, whereabouts

PLAN = """use units
kind diver is actor
  holds 2 item by hand
kind hooks is location
  holds any item by hook
kind tool is item
action take TOOL: tool from HOLDER: location
  by     diver
  needs  TOOL on HOLDER, HOLDER in reach
  makes  TOOL in hand of actor, then TOOL not on HOLDER
action hang TOOL: tool on HOLDER: location
  by     diver
  needs  TOOL in hand of actor, HOLDER in reach
  makes  TOOL on HOLDER, then TOOL not in hand of actor
action rest
  by     diver
location pier : hooks
actor mara, jonas : diver, at pier
item saw : tool, on pier

excursion cut
  crew mara, jonas
  task work : required
    mara
      take saw from pier
      rest, says held
      hang saw on pier
    jonas
      rest
      rest, on held
"""


def over_when(flow: ExcursionFlow, now: Step) -> Iterator[set[int]]:
    """Every set of steps that may be over when ``now`` begins, tried as a count for each actor's list."""
    lists: list[list[int]] = [[] for _ in flow.columns]
    for step in flow.steps:
        for column, _ in step.positions:
            lists[column].append(step.index)
    outers: dict[int, list[int]] = {}
    for inner, outer in flow.companions:
        outers.setdefault(inner, []).append(outer)

    def begun(i: int, over: set[int]) -> bool:
        """Whether step i can have begun strictly before this moment."""
        return i != now.index and waited(i, over)

    def waited(i: int, over: set[int]) -> bool:
        return all(p in over for p in flow.predecessors[i]) and all(begun(m, over) for m in outers.get(i, ()))

    for counts in product(*(range(len(one) + 1) for one in lists)):
        over = {i for one, count in zip(lists, counts, strict=True) for i in one[:count]}
        if any(i in over for one, count in zip(lists, counts, strict=True) for i in one[count:]):
            continue  # a joint step is over for all its cast or for none
        if not all(begun(i, over) for i in over):
            continue
        if not waited(now.index, over):
            continue
        if any(outer in over and inner not in over for inner, outer in flow.companions) or now.index in over:
            continue
        if any(outer in over for outer in outers.get(now.index, ())):
            continue
        yield over


def answers(flow: ExcursionFlow, now: Step, ask: Any) -> set[Any]:
    found = set()
    for over in over_when(flow, now):
        state = list(flow.start)
        for step in flow.steps:
            if step.index in over:
                for change in step.changes:
                    state[change.var] = change.after
        found.add(ask(state))
    return found


def test_every_answer_is_possible_and_every_possible_one_is_given() -> None:
    asked = unsettled = beside = together = 0
    for seed in range(25_000, 26_100, 5):
        world = world_of(text_of(plan_from(seed)))
        flow = analyse(world).excursions[0]
        if flow.problems or len(flow.steps) > 12:
            continue
        changing = {change.var for step in flow.steps for change in step.changes}
        beside += bool(flow.companions)
        for step in flow.steps:
            moment = Moment(flow, step)
            for thing in world.things:
                for ask in questions(thing, changing):
                    outcomes, read = moment.outcomes(ask)
                    given = {one.answer for one in outcomes}
                    assert given == answers(flow, step, ask), f"seed {seed}, step {step.index}, {thing}"
                    asked += 1
                    unsettled += len(given) > 1
                    together += len(given) > 1 and sum(len(moment.options(var)) > 1 for var in read) > 1
    assert asked > 1000 and unsettled > 100 and beside > 5 and together > 1, (asked, unsettled, beside, together)


def test_the_steps_told_decide() -> None:
    """In every moment in which the told steps are over, and the others not, the answer is the one told."""
    compared = 0
    for seed in range(25_000, 25_400, 5):
        world = world_of(text_of(plan_from(seed)))
        flow = analyse(world).excursions[0]
        if flow.problems or len(flow.steps) > 10:
            continue
        for step in flow.steps:
            for thing in world.things:
                for ask in questions(thing, set())[:1]:
                    for outcome in Moment(flow, step).outcomes(ask)[0]:
                        must, mustnt = {s.index for s in outcome.over}, {s.index for s in outcome.not_over}
                        states = [over for over in over_when(flow, step) if must <= over and not mustnt & over]
                        assert states
                        for over in states:
                            state = list(flow.start)
                            for one in flow.steps:
                                for change in one.changes if one.index in over else ():
                                    state[change.var] = change.after
                            assert ask(state) == outcome.answer
                            compared += 1
    assert compared > 500


def told(capsys: pytest.CaptureFixture[str], folder: Path, line: int, plan: str = PLAN) -> str:
    (folder / "plan.stay").write_text(plan, encoding="utf-8")
    assert main(["trace", "saw", str(folder / "plan.stay"), "--at", f"plan.stay:{line}"]) == 0
    return re.sub(r" +", " ", capsys.readouterr().out)


def test_surely_maybe_never_with_the_steps_that_decide(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first = told(capsys, tmp_path, PLAN.splitlines().index("      rest") + 1)
    assert "maybe Pier (by hook)" in first and "maybe Mara (by hand), at Pier; Mara has it" in first
    assert "if this is over: Mara: take saw from pier plan.stay:" in first
    assert "if this is not: Mara: hang saw on pier plan.stay:" in first
    second = told(capsys, tmp_path, len(PLAN.splitlines()))
    assert "or in 1 other way" not in second
    assert " surely " not in second.split("Jonas: rest")[1]
    assert "maybe Mara (by hand)" in second and "maybe Pier" in second
    ordered = PLAN.replace("pier\n    jonas", "pier, says up\n    jonas").replace("on held", "on up")
    last = told(capsys, tmp_path, len(PLAN.splitlines()), ordered)
    assert "surely Pier (by hook); nobody has it" in last and "never Mara (by hand), at Pier; Mara has it" in last


CRATES = """use units
kind diver is actor
  holds 2 item by hand
kind hooks is location
  holds any item by hook
kind tool is item
kind crate is item
  holds any tool by pouch
action take CRATE: crate from HOLDER: location
  by     diver
  makes  CRATE in hand of actor, then CRATE not on HOLDER
action shift TOOL: tool from OLD: crate to NEW: crate
  by     diver
  makes  TOOL on NEW, then TOOL not on OLD
action rest
  by     diver
location pier : hooks
actor mara, jonas : diver, at pier
item crate-a, crate-b : crate, on pier
item saw : tool, on pouch of crate-a

excursion cut
  crew mara, jonas
  task work : required
    mara
      take crate-b from pier
      shift saw from crate-a to crate-b
    jonas
      rest
"""


def test_values_of_several_variables_are_those_of_one_moment() -> None:
    """The saw is put over only once crate-b is in hand: never in crate-b on the pier."""
    world = world_of(CRATES)
    flow = analyse(world).excursions[0]
    assert not [p.rule for p in flow.problems if p.rule == "may-come-first"]
    saw = next(one for one in world.things if one.name == "saw")
    outcomes, _ = Moment(flow, flow.steps[-1]).outcomes(lambda state: whereabouts(state, saw))
    assert {one.answer for one in outcomes} == {
        "Crate a (by pouch), at Pier; nobody has it",
        "Crate b (by pouch), at Pier; Mara has it",
    }


def test_what_races_change_is_not_known(tmp_path: Path) -> None:
    plan = PLAN.replace("      rest\n", "      take saw from pier\n").replace("rest, on held", "hang saw on pier")
    world = world_of(plan)
    flow = analyse(world).excursions[0]
    saw = next(thing for thing in world.things if thing.name == "saw")
    with pytest.raises(Unordered):
        Moment(flow, flow.steps[-1]).outcomes(questions(saw, set())[0])


def test_what_is_being_changed_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Jonas rests beside the hanging: that has begun, and is not over."""
    plan = PLAN.replace("pier\n    jonas", "pier, says up\n    jonas").replace("on held", "while up")
    text = told(capsys, tmp_path, len(PLAN.splitlines()), plan)
    assert "surely Mara (by hand), at Pier; Mara has it" in text
    assert "is being changed then: Mara: hang saw on pier plan.stay:" in text


def test_too_many_combinations_are_not_decided(monkeypatch: pytest.MonkeyPatch) -> None:
    import jackstay.outputs.moment as module

    monkeypatch.setattr(module, "MOST", 1)
    flow = analyse(world_of(PLAN)).excursions[0]
    jonas = next(step for step in flow.steps if step.cast[0].name == "jonas")
    saw = next(change.var for step in flow.steps for change in step.changes)
    with pytest.raises(TooMany):
        Moment(flow, jonas).outcomes(lambda state: str(state[saw]))


def test_a_place_where_nothing_begins_and_a_thing_that_is_not() -> None:
    with pytest.raises(NoStepThere, match=r"no step begins at pier\.stay:1"):
        trace_at(pier(), "lamp", "pier.stay", 1)
    with pytest.raises(UnknownThing):
        trace_at(pier(), "lmap", "pier.stay", 1)


@pytest.mark.parametrize("place", ["plan.stay", "plan.stay:x", ":3", "plan.stay:"])
def test_a_place_that_is_none(place: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "plan.stay").write_text(PLAN, encoding="utf-8")
    assert main(["trace", "saw", str(tmp_path / "plan.stay"), "--at", place]) == 2
    assert "is not a place" in capsys.readouterr().err
