"""An excursion followed once more, from another start: for proving what it does without."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.analyse import fly, flying_from
from jackstay.flow.fallbacks import check_one
from jackstay.flow.laws import Distances
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.state import State
from jackstay.model.records import Thing, World


def problems_without(world: World, flow: ExcursionFlow, gone: Sequence[Thing]) -> list[Problem]:
    """What is wrong with the excursion, as written and in each of its fallbacks, if these items do not exist at its
    start: they hang on nothing, and no line of theirs is fastened."""
    distances = Distances(world)
    flight = fly(world, flow.excursion, _start(world, flow.start, gone), distances, frozenset())
    found = list(flight.flow.problems)
    if not found:
        fly_from = flying_from(world, distances)
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
