"""The steps that make a literal true, also where it held already: what renews it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Quantified, Slot, Test, Thing, World
from jackstay.timing.truth import Case


class Renewal(NamedTuple):
    """goal: which of the case's goals. It is renewed when the step ends."""

    goal: int
    step: Step


def renewals(world: World, flow: ExcursionFlow, cases: Sequence[Case]) -> list[list[Renewal]]:
    """For each case, in the replayed order, the steps whose effects make one of its goals true.

    A goal about a whole kind is renewed by any effect on a thing of that kind that leaves the goal true."""
    found: list[list[Renewal]] = [[] for _ in cases]
    wanted: dict[Thing, list[tuple[int, int, Test, tuple[Any, ...]]]] = {}
    judge = Judge(world, State(0), flow.excursion)
    for number, case in enumerate(cases):
        for n, goal in enumerate(case.goal):
            for thing in _subjects(goal, case.binding, judge):
                wanted.setdefault(thing, []).append((number, n, goal, case.binding))
    if not wanted:
        return found
    state = judge.state
    state.values = list(flow.start)
    for step in flow.steps:
        written: dict[Thing, set[int]] = {}
        for effect in step.action.effects if step.action is not None else ():
            subject = judge.term(effect.test.a, step.binding)
            if subject is not None and subject in wanted:
                written.setdefault(subject, set()).add(_variable(subject, effect.test))
        for change in step.changes:
            state.values[change.var] = change.after
        for thing, variables in written.items():
            for number, n, goal, binding in wanted[thing]:
                judge.reads = []
                if judge.holds(goal, binding) and not variables.isdisjoint(judge.reads):
                    found[number].append(Renewal(n, step))
    return found


def _subjects(goal: Test, binding: tuple[Any, ...], judge: Judge) -> list[Thing]:
    if isinstance(goal.a, Quantified):
        return judge.among(goal.a)
    thing = binding[goal.a.index] if isinstance(goal.a, Slot) else goal.a
    return [thing] if isinstance(thing, Thing) else []


def _variable(thing: Thing, test: Test) -> int:
    """The variable that an effect on this thing writes."""
    if test.op == "is":
        return thing.prop_vars.get(test.prop or "", -1)
    if test.op in ("from", "to"):
        return thing.from_var if test.op == "from" else thing.to_var
    return thing.place_var if thing.place_var >= 0 else thing.held_var
