"""Who and what is where, phase by phase, as data: for the printed strips and for a slider over the clock.

A *phase* begins when somebody has arrived at another place, by the nominal times, and lasts until the next arrival.
Phases in which nobody finishes a written step are merged with the next. Then, as long as an excursion has more than
`MOST` of them, or one that takes less than 1/`SHORT` of the whole, the shortest is merged with the next (the last with
the one before): a short phase is on the way to a long one. A scene shows how things are as its phase ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import Mark, Task, Thing, World
from jackstay.outputs.custody import Hangs, custody_changes, hangs_of
from jackstay.outputs.situation import place as stands_on
from jackstay.outputs.views import View, is_written
from jackstay.timing.formulas import location_in

MOST = 24  # scenes of an excursion
SHORT = 48


@dataclass(slots=True)
class Move:
    """An actor's way since the scene before: the places in order (two, where it takes no path). riders: who is carried.
    steps: the moves themselves."""

    actor: Thing
    route: list[Thing]
    riders: list[Thing]
    steps: list[Step]


@dataclass(slots=True)
class Scene:
    """since, until: seconds from the excursion's start. at: where each actor and item is at last (None: nowhere).
    stands: what each actor itself is on. hangs: what each item hangs on. new: what hangs otherwise than in the scene
    before. steps: those that end in the phase, in time order."""

    number: int
    since: Fraction
    until: Fraction
    at_least: bool
    at: dict[Thing, Thing | None] = field(default_factory=dict)
    stands: dict[Thing, Thing | None] = field(default_factory=dict)
    hangs: dict[Thing, Hangs] = field(default_factory=dict)
    moves: list[Move] = field(default_factory=list)
    new: set[Thing] = field(default_factory=set)
    steps: list[Step] = field(default_factory=list)
    tasks: list[Task] = field(default_factory=list)
    calls: list[Mark] = field(default_factory=list)


def scenes_of(world: World, view: View) -> list[Scene]:
    """The scenes of an excursion; none where its order is circular."""
    times, flow = view.times, view.flow
    if times is None:
        return []
    state = list(flow.start)
    things = [thing for thing in world.things if thing.sort != "location"]
    order = sorted(flow.steps, key=lambda step: (times.end[step.index], step.index))
    arrivals = _arrivals(world, view, order)
    bounds = _bounds(view, order, arrivals)
    made: list[Scene] = []
    at = 0
    before = _snapshot(state, things)
    for number, (since, until) in enumerate(bounds, start=1):
        scene = Scene(number, since, until, False)
        last = number == len(bounds)
        walked: dict[Thing, Move] = {}
        while at < len(order) and (last or times.end[order[at].index] < until):
            step = order[at]
            for change in step.changes:
                state[change.var] = change.after
            scene.steps.append(step)
            if step.index in view.calls:
                scene.calls.append(view.calls[step.index])
            for actor, (old, new) in arrivals.get(step.index, {}).items():
                move = walked.setdefault(actor, Move(actor, [old], [], []))
                ways = [one for one in step.route if not one.near] or [old, new]
                move.route += ways[1:] if move.route[-1] is ways[0] else ways
                move.riders += [one for one in view.own if one not in move.riders and _rides(state, one, actor)]
                move.steps.append(step)
            at += 1
        now = _snapshot(state, things)
        scene.at, scene.stands, scene.hangs = now
        scene.new = {thing for thing in things if now[1].get(thing) is not before[1].get(thing)}
        scene.new |= {thing for thing in now[2] if now[2][thing] != before[2][thing]}
        scene.moves = list(walked.values())
        scene.tasks = _tasks(view, since, until)
        scene.at_least = any(times.end_open[step.index] for step in scene.steps)
        made.append(scene)
        before = now
    return made


def _snapshot(
    state: Sequence[Any], things: list[Thing]
) -> tuple[dict[Thing, Thing | None], dict[Thing, Thing | None], dict[Thing, Hangs]]:
    return (
        {thing: location_in(state, thing) for thing in things},
        {thing: stands_on(state, thing) for thing in things if thing.sort == "actor"},
        {thing: hangs_of(state, thing) for thing in things if thing.sort == "item"},
    )


def _rides(state: Sequence[Any], rider: Thing, actor: Thing) -> bool:
    """Whether someone stands on something that the actor carries."""
    up = stands_on(state, rider)
    seen = 0
    while up is not None and up.sort != "location" and seen < 64:
        if up is actor:
            return rider is not actor
        held = hangs_of(state, up)[0] if up.sort == "item" else ()
        up = held[0].holder if held else stands_on(state, up)
        seen += 1
    return False


def station(location: Thing | None, last: Thing | None) -> Thing | None:
    """The place that a fitting is reached from (where somebody already is, if it is one of several); else the place."""
    if location is None or not location.near:
        return location
    return last if last in location.near else location.near[0]


def _arrivals(world: World, view: View, order: list[Step]) -> dict[int, dict[Thing, tuple[Thing, Thing]]]:
    """By step index, each actor that brings itself to another place in it: from where, to where."""
    state = list(view.flow.start)
    found: dict[int, dict[Thing, tuple[Thing, Thing]]] = {}
    for step in order:
        actors = [world.variables[c.var].thing for c in step.changes if world.variables[c.var].sort == "place"]
        old = {actor: location_in(state, actor) for actor in actors}
        for change in step.changes:
            state[change.var] = change.after
        for actor in actors:
            start = station(old[actor], None)
            end = station(location_in(state, actor), start)
            if start is not None and end is not None and start is not end:
                found.setdefault(step.index, {})[actor] = (start, end)
    return found


def _bounds(
    view: View, order: list[Step], arrivals: dict[int, dict[Thing, tuple[Thing, Thing]]]
) -> list[tuple[Fraction, Fraction]]:
    times = view.times
    assert times is not None
    ends = sorted({times.end[index] for index in arrivals})
    cuts = [Fraction(0), *(end for end in ends if end > 0)]
    busy = sorted(times.end[step.index] for step in order if is_written(step) and step.index not in arrivals)
    kept = [cuts[0]]
    at = 0
    for cut in cuts[1:]:
        finished = 0
        while at < len(busy) and busy[at] < cut:
            at += 1
            finished += 1
        if finished:
            kept.append(cut)
        elif kept[-1] != 0 or len(kept) > 1:
            kept[-1] = cut  # nothing was finished meanwhile: everybody was still on the way
    whole = max(times.makespan, kept[-1])
    bounds = _merged([*kept, whole], whole)
    return list(pairwise(bounds))


def _merged(bounds: list[Fraction], whole: Fraction) -> list[Fraction]:
    """The shortest phase joined to the next one (the last to the one before), until none is too short and there are few
    enough."""
    after = list(range(1, len(bounds) + 1))  # by the place of a phase's beginning: the place of its end
    before = list(range(-1, len(bounds) - 1))
    last, count = len(bounds) - 1, len(bounds) - 1
    waiting = [(bounds[i + 1] - bounds[i], i) for i in range(last)]
    heapify(waiting)
    while count > 1:
        span, i = heappop(waiting)
        if after[i] > last or bounds[after[i]] - bounds[i] != span:
            continue  # joined to another meanwhile
        if count <= MOST and span * SHORT >= whole:
            break
        if after[i] == last:
            i = before[i]
        gone = after[i]
        after[i] = after[gone]
        before[after[i]] = i
        after[gone] = last + 1
        heappush(waiting, (bounds[after[i]] - bounds[i], i))
        count -= 1
    kept = [0]
    while kept[-1] < last:
        kept.append(after[kept[-1]])
    return [bounds[i] for i in kept]


def _tasks(view: View, since: Fraction, until: Fraction) -> list[Task]:
    """The tasks of which a written step runs in the phase, in text order."""
    times = view.times
    assert times is not None
    running = {
        step.entry.task
        for step in view.flow.steps
        if is_written(step) and times.start[step.index] < until and times.end[step.index] > since
    }
    return [task for task in view.excursion.tasks if task in running]


def moving_things(world: World, view: View) -> set[Thing]:
    """Items that change hands in the excursion."""
    return {thing for step in view.flow.steps for thing in custody_changes(world, step)}
