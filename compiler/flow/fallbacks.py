"""Fallbacks: whatever the others have done by then, the fallback can be flown and ends safe.

A fallback begins when the step that calls it (or that says its mark) is over; steps that others are in the middle of
are finished first. So it may begin at any *cut*: a number of finished steps for each actor that the written order
allows. An outcome that an action `may` have, or a reading outside of the limits that it `expects`, means that the step
ended without its effects. Each cut that leaves a
different state is replayed, judged like an excursion of its own (order, races, laws, counts, rules), and must bring its
crew home.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import product
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.answers import OUTSIDE
from jackstay.flow.dropping import PLANNED_END, STANDING, Flight, named
from jackstay.flow.ends import is_out
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.model.records import Entry, Excursion, Fallback, Task, Thing, Wait, World

MOST_CUTS = 600

# `left outside` and its like speak of the end of the plan as written, not of an end that nobody hoped for.
_PLANNED_END = PLANNED_END | {"left-behind", "crew-left-outside"}

FlyFrom = Callable[[Excursion, list[Entry], list[Task], State], tuple[ExcursionFlow, State]]


_HAS_FINDINGS = "the excursion that it interrupts has findings: they come first"
_NOT_BEGUN = "the excursion that it interrupts has not been followed: what it starts from is not known"


class Call(NamedTuple):
    """Where a fallback may begin: after this step; undone: the step ended without its effects."""

    step: Step
    undone: bool


def check_fallbacks(flights: dict[Excursion, Flight], judge: Callable[[Flight, Fallback], list[Problem]]) -> None:
    """Report ``fallback-may-fail``, ``fallback-never-called`` and ``not-decided`` for every fallback.

    judge: `check_one` in this campaign."""
    for excursion, flight in flights.items():
        flow = flight.flow
        if not flow.complete or any(p.rule not in _PLANNED_END | STANDING for p in flow.problems):
            for fallback in excursion.fallbacks:
                flow.problems.append(
                    Problem(
                        "not-decided",
                        fallback.decl,
                        {
                            "what": "fallback",
                            "excursion": excursion,
                            "fallback": fallback,
                            "reason": _NOT_BEGUN if _not_begun(flow) else _HAS_FINDINGS,
                        },
                    )
                )
            continue
        found: list[Problem] = []
        for fallback in excursion.fallbacks:
            found += judge(flight, fallback)
        flow.problems += found


def _not_begun(flow: ExcursionFlow) -> bool:
    return any(problem.rule == "not-decided" and problem.facts["what"] == "start" for problem in flow.problems)


def check_one(
    world: World, flight: Flight, fallback: Fallback, fly_from: FlyFrom, dropped: frozenset[Task] = frozenset()
) -> list[Problem]:
    """What is wrong with one fallback, wherever it may begin in this flight; dropped: tasks that were not flown in it,
    and are not flown afterwards either."""
    flow, out = flight.flow, []
    tasks = [fallback.body, *(task for task in fallback.then if task not in dropped)]
    calls = list(calls_of(flow, fallback, dropped))
    if not calls:
        if dropped:
            return []
        return [Problem("fallback-never-called", fallback.decl, {"fallback": fallback, "excursion": flow.excursion})]
    told: set[Any] = set()
    known = {named(problem) for problem in flow.problems if problem.rule in STANDING}
    broken = {id(problem.facts["rule"]) for problem in flow.problems if problem.rule in STANDING}
    for call in calls:
        cuts = list(_cuts(flow, call.step, MOST_CUTS + 1))
        if len(cuts) > MOST_CUTS:
            out.append(
                Problem(
                    "not-decided",
                    fallback.decl,
                    {
                        "what": "fallback",
                        "excursion": flow.excursion,
                        "fallback": fallback,
                        "reason": f"it may begin in more than {MOST_CUTS} ways: order the others' steps around it",
                    },
                )
            )
            continue
        seen: set[tuple[Any, ...]] = set()
        for cut in cuts:
            state, done = state_at(world, flight, cut, call)
            entries = [e for task in tasks for e in task.entries if e.index not in done or e.task is fallback.body]
            key = (tuple(state.values), len(entries))
            if key in seen:
                continue
            seen.add(key)
            begun = {
                "fallback": fallback,
                "call": call.step,
                "undone": call.undone,
                "flow": flow,
                "finished": _last_steps(flow, cut, call.step),
                "excursion": flow.excursion,
            }
            before = len(out)
            for wait in _never_called(entries, done, fallback):
                if wait.at not in told and wait.mark.task not in dropped:
                    told.add(wait.at)
                    out.append(Problem("fallback-may-fail", wait.at, {**begun, "problem": None, "mark": wait.mark}))
            for problem in _fly(flight, fallback, tasks, entries, state, fly_from):
                if problem.rule in STANDING and problem.facts["step"] is None and id(problem.facts["rule"]) in broken:
                    continue  # as the plan left it: told there
                if (problem.rule, problem.at) not in told and named(problem) not in known:
                    told.add((problem.rule, problem.at))
                    out.append(Problem("fallback-may-fail", problem.at, {**begun, "problem": problem, "mark": None}))
            if len(out) > before:
                break  # one state in which it fails is enough to tell; others mostly have the same cause
    return out


def calls_of(flow: ExcursionFlow, fallback: Fallback, dropped: frozenset[Task] = frozenset()) -> Iterator[Call]:
    """The steps after which a fallback may begin, in the plan as flown without the dropped tasks."""
    for steps in flow.by_entry.values():
        if not steps or steps[-1].entry.task in dropped:
            continue
        entry = steps[-1].entry
        main = next((s for s in reversed(steps) if not s.inserted), steps[-1])
        for answer in entry.answers:
            if answer.fallback is fallback:
                yield Call(main, _undone(entry, answer.outcome))
        if fallback.mark is not None and fallback.mark.entry is entry:
            yield Call(main, False)


def _undone(entry: Entry, outcome: str) -> bool:
    """Whether a step with this outcome has no effects: a reading outside of the limits of its action is none."""
    action = entry.action
    return action is not None and (outcome in action.may or (outcome == OUTSIDE and action.expects is not None))


def _cuts(flow: ExcursionFlow, step: Step, most: int) -> Iterator[tuple[int, ...]]:
    """For each column a number of finished steps: all that surely ended, the step itself, and of the others' steps that
    nothing puts after it as many as may be over, closed under what each of them needs before."""
    by_column: list[list[Step]] = [[] for _ in flow.columns]
    for other in flow.steps:
        for column, _ in other.positions:
            by_column[column].append(other)
    own = dict(step.positions)
    ranges = []
    for column, steps in enumerate(by_column):
        if column in own:
            ranges.append(range(own[column] + 1, own[column] + 2))
            continue
        first, position = step.positions[0]
        after = sum(1 for t in steps if t.clock[first] <= position)
        ranges.append(range(step.clock[column], after + 1))
    count = 0
    for cut in product(*ranges):
        if all(n == 0 or closed(by_column[column][n - 1], cut) for column, n in enumerate(cut)):
            count += 1
            yield cut
            if count >= most:
                return


def closed(last: Step, cut: tuple[int, ...]) -> bool:
    return all(need <= n for need, n in zip(last.clock, cut, strict=True)) and all(
        cut[c] > p for c, p in last.positions
    )


def state_at(world: World, flight: Flight, cut: tuple[int, ...], call: Call) -> tuple[State, set[int]]:
    """The state when the steps of a cut are over, and the entries that are done by then. Steps inside the cut that do
    not touch one variable may have come in any order: the plan has no races."""
    state = flight.start.copy()
    variables = world.variables
    last: dict[Thing, Step] = {}
    for step in flight.flow.steps:
        if any(position >= cut[column] for column, position in step.positions):
            continue
        for actor in step.cast:
            last[actor] = step
        if step is call.step and call.undone:
            continue
        for change in step.changes:
            state.put(variables[change.var], change.after)
    return state, _entries_done(flight.flow, last)


def _entries_done(flow: ExcursionFlow, last: dict[Thing, Step]) -> set[int]:
    """Entries that are over: a member of the cast has gone on to a later one, or has finished its last step. (A heading
    whose doer was there already has no step of its own.)"""
    done: set[int] = set()
    for entry in flow.excursion.entries:
        own = flow.by_entry.get(entry.index)
        for actor in entry.cast:
            step = last.get(actor)
            if step is not None and (step.entry.index > entry.index or (own and step is own[-1])):
                done.add(entry.index)
    return done


def _never_called(entries: list[Entry], done: set[int], fallback: Fallback) -> Iterator[Wait]:
    """Waits for a call that is neither made yet nor made any more."""
    here = {id(e) for e in entries}
    for entry in entries:
        for wait in entry.waits:
            said = wait.mark.entry
            if said is not None and id(said) not in here and (said.index not in done or said.task is fallback.body):
                yield wait


def _fly(
    flight: Flight, fallback: Fallback, tasks: list[Task], entries: list[Entry], state: State, fly_from: FlyFrom
) -> Iterator[Problem]:
    excursion = flight.flow.excursion
    flown, end = fly_from(excursion, entries, tasks, state)
    for problem in flown.problems:
        if problem.rule not in _PLANNED_END:
            yield problem
    for member in excursion.crew:
        if is_out(end, member.actor) and not is_out(flight.start, member.actor):
            yield Problem(
                "crew-left-outside",
                fallback.decl,
                {"thing": member.actor, "where": end.location(member.actor), "flow": flown, "excursion": excursion},
            )


def _last_steps(flow: ExcursionFlow, cut: tuple[int, ...], call: Step) -> list[Step]:
    """What each of the others has just finished, to tell the state in which the fallback fails."""
    out: list[Step] = []
    own = {column for column, _ in call.positions}
    for column, n in enumerate(cut):
        if column in own or n == 0:
            continue
        last = next(s for s in flow.steps if (column, n - 1) in s.positions)
        if last not in out:
            out.append(last)
    return sorted(out, key=lambda s: s.index)
