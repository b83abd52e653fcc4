"""How long somebody needs to be back inside, at the moments that a forecast looks at."""

from __future__ import annotations

from fractions import Fraction

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Thing, World
from jackstay.timing.home import needs_home
from jackstay.timing.sampling_network import plain
from jackstay.timing.schedule import schedule

Needs = dict[Thing, list[tuple[int, float]]]


def home_needs(world: World, flow: ExcursionFlow) -> Needs:
    """For each actor who goes out: events and the seconds that the way home takes then.

    As each of the actor's own steps ends, and again as the next one begins: in between they stand and time runs. The
    seconds are those of the nominal plan, so a run in which others are elsewhere than they would be may need more."""
    times = schedule(flow)
    if times is None:
        return {}
    found: Needs = {}
    for actor, needs in needs_home(world, flow, times).items():
        events: list[tuple[int, float]] = []
        before: float | None = None
        for step in flow.steps:
            if actor not in step.cast:
                continue
            if before is not None:
                events.append((2 * step.index, before))
            need = needs[step.index]
            before = None if need is None else plain(Fraction(need))
            if before is not None:
                events.append((2 * step.index + 1, before))
        if events:
            found[actor] = events
    return found
