"""An excursion followed once more, from another start: for proving what it does without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.analyse import _circular, _follow, fly
from jackstay.flow.fallbacks import check_one
from jackstay.flow.laws import Distances
from jackstay.flow.order import Order
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.state import State
from jackstay.model.records import Entry, Excursion, Task, Thing, World


def problems_without(world: World, flow: ExcursionFlow, gone: Sequence[Thing]) -> list[Problem]:
    """What is wrong with the excursion, as written and in each of its fallbacks, if these items do not exist at its
    start: they hang on nothing, and no line of theirs is fastened."""
    distances = Distances(world)
    flight = fly(world, flow.excursion, _start(world, flow.start, gone), distances, frozenset())

    def fly_from(
        excursion: Excursion, entries: list[Entry], tasks: list[Task], state: State
    ) -> tuple[ExcursionFlow, State]:
        order = Order(tasks, entries)
        if order.circle:
            return _circular(excursion, order, state), state
        after = state.copy()
        return _follow(world, excursion, order, after, distances, frozenset()).flow, after

    found = list(flight.flow.problems)
    if not found:
        for fallback in flow.excursion.fallbacks:
            found += check_one(world, flight, fallback, fly_from)
    return found


def _start(world: World, values: Sequence[Any], gone: Sequence[Thing]) -> State:
    state = State(len(world.variables))
    for var in world.variables:
        state.put(var, () if var.sort == "held" and values[var.id] is None else values[var.id])
    for thing in gone:
        if thing.held_var >= 0:
            state.set_held(thing, ())
        if thing.from_var >= 0:
            state.set_end(thing, "from", None)
            state.set_end(thing, "to", None)
    return state
