"""Contracts between excursions: what the next one may count on, without a look at how it is done.

The promise of an excursion is its own start, changed by what its contract states: the `done when` of its tasks and its
`left so`. Everything else is promised to be as it was. `starts from promise of X` starts there; X itself must end
there, to the last tool. So the two can be written, changed and checked apart.
"""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.ends import is_out
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Excursion, Holding, LeftThing, Task, Test, Thing, World
from jackstay.model.things import first_manner


def promised(world: World, excursion: Excursion, start: State, dropped: frozenset[Task]) -> State:
    """The state that an excursion's contract states, from its start, without the dropped tasks. What it names without a
    place is in doubt there."""
    state = start.copy()
    state.doubtful.update(left.thing.held_var for left in _placeless(excursion, start, dropped))
    judge = Judge(world, state)
    for test in stated(excursion, dropped):
        _make(test, state, judge)
    if world.spreads:
        from jackstay.flow.spreads import closed

        return closed(world, state)
    return state


def check_promise(
    excursion: Excursion, start: State, promise: State, flow: ExcursionFlow, end: State, world: World
) -> None:
    """Report ``promise-incomplete`` (a contract that does not say where something is left) and ``promise-broken`` (an
    end other than promised) into the excursion's own flow."""
    for left in _placeless(excursion, start, frozenset()):
        _tell(flow, "promise-incomplete", left.at, excursion=excursion, thing=left.thing)
    told: set[Thing] = set()
    for variable in world.variables:
        said, real = promise.values[variable.id], end.values[variable.id]
        if _same(said, real) or variable.id in promise.doubtful | end.doubtful or variable.thing in told:
            continue
        told.add(variable.thing)
        _tell(flow, "promise-broken", excursion.decl, excursion=excursion, var=variable, said=said, real=real)


def _placeless(excursion: Excursion, start: State, dropped: frozenset[Task]) -> list[LeftThing]:
    """What crosses the hatch by the contract, and no `done when` says where it is then."""
    placed = {test.a for test in stated(excursion, dropped) if test.op == "attached"}
    out = [left for left in excursion.left_outside if not is_out(start, left.thing)]
    home = [left for left in excursion.comes_inside if is_out(start, left.thing)]
    return [left for left in (*out, *home) if left.thing not in placed]


def _tell(flow: ExcursionFlow, rule: str, at: Any, **facts: Any) -> None:
    flow.problems.append(Problem(rule, at, {"flow": flow, **facts}))


def stated(excursion: Excursion, dropped: frozenset[Task]) -> list[Test]:
    """What the contract states outright: of one thing, and not that something is not so."""
    tests = [t for task in excursion.tasks if task not in dropped and task.guard is None for t in task.done_when]
    tests += [left.test for left in excursion.left_so]
    return [t for t in tests if not t.negated and isinstance(t.a, Thing) and (t.b is None or isinstance(t.b, Thing))]


def _make(test: Test, state: State, judge: Judge) -> None:
    thing, other = test.a, test.b
    assert isinstance(thing, Thing)
    if test.op == "is" and test.value is not None and test.prop in thing.prop_vars:
        state.values[thing.prop_vars[test.prop]] = judge.formula(test.value, ())
    elif not isinstance(other, Thing):
        return
    elif test.op in ("from", "to"):
        state.set_end(thing, test.op, other)
    elif thing.place_var >= 0 and test.op in ("located", "attached"):
        state.set_place(thing, other)
    elif thing.held_var >= 0 and test.op == "attached":
        manner = test.manner or first_manner(thing.kind, other.kind)
        if manner is not None:
            state.set_held(thing, (Holding(manner, other),))


def _same(said: Any, real: Any) -> bool:
    """Attachments compare as sets: the order in which they were made is nobody's promise."""
    if isinstance(said, tuple) and isinstance(real, tuple):
        return set(said) == set(real)
    return bool(said == real)
