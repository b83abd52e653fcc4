"""An excursion that goes over into a fallback, as one flow with its times: what is done by then, then the fallback.

So what asks for a flow and its nominal times can be asked of it: what is left of supplies, the way home, how long
something lasts.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import lcm
from typing import Any

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.source.record import replaced
from jackstay.timing.events import EventGraph, main_step
from jackstay.timing.passes import Early
from jackstay.timing.records import Run, Times, Triple
from jackstay.timing.schedule import clock_events
from jackstay.timing.variants import FallbackFlight


class Spliced:
    """flow: the steps of the plan that are over, renumbered, then those of the fallback. times: of these. done: how
    many are of the plan. Every duration counts as certain: this is one day, the nominal one."""

    def __init__(self, plan: ExcursionFlow, times: Times, flight: FallbackFlight, graph: EventGraph, early: Early):
        done = [step for step in plan.steps if all(at < flight.cut[column] for column, at in step.positions)]
        self.done = len(done)
        steps = [self._renumbered(step, n, flight) for n, step in enumerate((*done, *flight.flow.steps))]
        columns = dict(plan.columns)
        for actor in flight.flow.columns:
            columns.setdefault(actor, len(columns))
        self.flow = ExcursionFlow(plan.excursion, columns, steps, start=plan.start, end=flight.flow.end)
        for step in steps:
            self.flow.by_entry.setdefault(step.entry.index, []).append(step)
        self.times = _times(times, [step.index for step in done], flight, graph, early)

    def _renumbered(self, step: Step, index: int, flight: FallbackFlight) -> Step:
        undone = index < self.done and step is flight.call.step and flight.call.undone
        return replaced(step, index=index, changes=() if undone else step.changes)


def _times(times: Times, done: list[int], flight: FallbackFlight, graph: EventGraph, early: Early) -> Times:
    scale = lcm(times.run.scale, graph.scale)
    up, more = scale // times.run.scale, scale // graph.scale
    start = [*(times.run.start[i] * up for i in done), *(t * more for t in early.start)]
    end = [*(times.run.end[i] * up for i in done), *(t * more for t in early.end)]
    starts, stops = clock_events(graph)
    zero = early.at(starts) * more if starts is not None else times.run.clock_zero * up
    run = Run(start, end, scale, zero, _stop(times, done, flight, early.at(stops) * more if stops else None, end, up))
    triples: list[Triple | None] = [times.triples[i] for i in done]
    triples = [one and Triple(one.likely, one.likely, one.likely) for one in (*triples, *graph.triples)]
    vague = None in triples
    parts: dict[str, Callable[[Times], Any]] = {
        "triples": lambda _: tuple(triples),
        "durations": lambda _: tuple(one.likely if one is not None else None for one in triples),
        "start": lambda _: tuple(Fraction(t, scale) for t in start),
        "end": lambda _: tuple(Fraction(t, scale) for t in end),
        "start_open": lambda _: (vague,) * len(start),
        "end_open": lambda _: (vague,) * len(end),
        "makespan": lambda _: Fraction(max(end, default=0), scale),
        "makespan_open": lambda _: vague,
        "clock_zero": lambda _: Fraction(run.clock_zero, scale),
        "clock_end": lambda _: Fraction(run.clock_end, scale),
    }
    return Times(run, parts)


def _stop(times: Times, done: list[int], flight: FallbackFlight, called: int | None, end: list[int], up: int) -> int:
    """When the clock stops: with its call in the fallback, or in what was done before, else with the last step."""
    if called is not None:
        return called
    mark = flight.flow.excursion.clock_ends
    if mark is not None and mark.entry is not None and times.run.clock_end * up <= flight.begins * times.run.scale * up:
        return times.run.clock_end * up
    return max(end, default=0)


def ends_of_calls(plan: ExcursionFlow, times: Times, flight: FallbackFlight) -> dict[int, Fraction]:
    """When the calls were made that the plan had made as the fallback begins, in seconds, by the entry's index."""
    found: dict[int, Fraction] = {}
    for index, steps in plan.by_entry.items():
        if steps:
            main = main_step(steps)
            if all(at < flight.cut[column] for column, at in main.positions):
                found[index] = times.end[main.index]
    return found
