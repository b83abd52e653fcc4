"""The nominal schedule of an excursion: as early, and as late, as its order and its bounds allow.

Each step is two events. Its end comes its duration after its start; its start comes after the ends of its
predecessors and of each cast member's own step before it; a step beside another (``while``) starts after the other's
start and ends before its end. Joint steps are one step, so their cast starts together by construction.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cache
from typing import Any, NamedTuple, TypeVar

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Mark, Task, Thing
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import Early, earliest, latest
from jackstay.timing.records import Delay, Run, Stretch, Times

ZERO = Fraction(0)
T = TypeVar("T", Fraction, bool)


def schedule(flow: ExcursionFlow, dropped: frozenset[Task] = frozenset()) -> Times | None:
    """Times of the excursion's steps; None when its order is circular and nothing can be timed."""
    if not flow.complete:
        return None
    graph = EventGraph(flow, dropped)
    early = nominal(graph)
    return None if early is None else times_of(graph, early)


def nominal(graph: EventGraph) -> Early | None:
    """As early as may be with the likely durations; without regard to ``within`` where no schedule keeps every one."""
    early = earliest(graph)
    if early is None or early.settled:
        return early
    plain = earliest(graph, maxima=())
    return plain._replace(settled=False) if plain is not None else None


def run_of(graph: EventGraph, early: Early) -> Run:
    """Where a mark of the clock is called by nobody, the clock runs from the start, or to the end."""
    zero, stop = clock_events(graph)
    return Run(
        early.start,
        early.end,
        graph.scale,
        early.end[zero >> 1] if zero is not None else 0,
        early.end[stop >> 1] if stop is not None else max(early.end, default=0),
    )


def times_of(graph: EventGraph, early: Early) -> Times:
    """The schedule in seconds, from a forward pass over the nominal durations."""
    flow, triples = graph.flow, graph.triples
    run = run_of(graph, early)
    known: dict[int, Fraction] = {}

    def seconds(ticks: Iterable[int]) -> tuple[Fraction, ...]:
        found = []
        for one in ticks:
            value = known.get(one)
            if value is None:
                value = known[one] = graph.seconds(one)
            found.append(value)
        return tuple(found)

    late = cache(lambda: latest(graph, early))
    opened = cache(lambda: _open(graph))
    parts: dict[str, Callable[[Times], Any]] = {
        "durations": lambda _: tuple(triple.likely if triple is not None else None for triple in triples),
        "triples": lambda _: triples,
        "start": lambda _: seconds(early.start),
        "end": lambda _: seconds(early.end),
        "start_open": lambda _: opened()[0],
        "end_open": lambda _: opened()[1],
        "makespan": lambda _: graph.seconds(max(early.end, default=0)),
        "makespan_open": lambda times: any(times.end_open),
        "latest_start": lambda _: seconds(late()[0]),
        "latest_end": lambda _: seconds(late()[1]),
        "slack": lambda _: seconds(last - soon for last, soon in zip(late()[0], early.start, strict=True)),
        "critical": lambda _: tuple(link.step for link in critical_chain(graph, early)),
        "clock_zero": lambda _: graph.seconds(run.clock_zero),
        "clock_end": lambda _: graph.seconds(run.clock_end),
        "actor_end": lambda times: _by_actor(flow, times.end, ZERO),
        "actor_open": lambda times: _by_actor(flow, times.end_open, False),
        "delays": lambda times: tuple(_delays(graph, early, times.start, times.end)),
        "stretches": lambda _: _stretches(graph, early),
    }
    return Times(run, parts)


def _by_actor(flow: ExcursionFlow, values: Sequence[T], least: T) -> dict[Thing, T]:
    """For each actor the greatest of their steps, in the order of the columns; who has no step is left out."""
    found: dict[Thing, T] = {}
    for step in flow.steps:
        for actor in step.cast:
            found[actor] = max(found.get(actor, least), values[step.index])
    return {actor: found[actor] for actor in flow.columns if actor in found}


def clock_events(graph: EventGraph) -> tuple[int | None, int | None]:
    """The events at which the excursion's own clock starts and stops (None: the very start, the very end)."""
    excursion = graph.flow.excursion
    return (
        graph.event_of(excursion.clock_starts) if excursion.clock_starts is not None else None,
        graph.event_of(excursion.clock_ends) if excursion.clock_ends is not None else None,
    )


def _open(graph: EventGraph) -> tuple[tuple[bool, ...], tuple[bool, ...]]:
    """Which starts and ends hang on a step without a duration."""
    size = len(graph.triples)
    if None not in graph.triples:
        sure = (False,) * size
        return sure, sure
    start, end = [False] * size, [False] * size
    into = graph.into()
    for event in graph.order() or ():
        i = event >> 1
        vague = any((end if source & 1 else start)[source >> 1] for source in into[event])
        if event & 1:
            end[i] = vague or start[i] or graph.triples[i] is None
        else:
            start[i] = vague
    return tuple(start), tuple(end)


# --- chains ----------------------------------------------------------------------------------------------------------


class Link(NamedTuple):
    """One step of a chain. why: what let it start just then: ``""`` (the step before it in the chain), ``not-before``,
    ``light``, ``within``, or ``start`` (nothing: it starts with the excursion)."""

    step: int
    why: str


def critical_chain(graph: EventGraph, early: Early, to: int | None = None) -> list[Link]:
    """Steps that follow on one another up to an event (None: the last end), each starting as the one before lets it;
    the first waits for nothing, or for the clock or the light. Of several such chains the one along calls."""
    if not early.end:
        return []
    last = max(early.end)
    event = 2 * early.end.index(last) + 1 if to is None else to
    inner_of: dict[int, list[int]] = {}
    outer_of: dict[int, list[int]] = {}
    for inner, outer in graph.beside:
        inner_of.setdefault(outer, []).append(inner)
        outer_of.setdefault(inner, []).append(outer)
    found: list[Link] = []
    while True:
        i = event >> 1
        if event & 1:
            own = early.start[i] + graph.likely[i] == early.end[i]
            held = [] if own else [one for one in inner_of.get(i, ()) if early.end[one] == early.end[i]]
            event = 2 * held[0] + 1 if held else 2 * i
            continue
        cause = cause_of(graph, early, i, outer_of.get(i, ()))
        if cause is None:
            found.append(Link(i, _clock_reason(graph, early, i) or "start"))
            return found[::-1]
        found.append(Link(i, ""))
        event = 2 * cause if cause in outer_of.get(i, ()) else 2 * cause + 1


def cause_of(graph: EventGraph, early: Early, i: int, outer: "list[int] | tuple[()]") -> int | None:
    """The step that lets step i start just then; one whose call is waited for is named first. None: no step does."""
    when = early.start[i]
    binding = [p for p in sorted(graph.before[i]) if early.end[p] == when]
    binding += [m for m in outer if early.start[m] == when]
    if len(binding) > 1:
        binding.sort(key=lambda p: (mark_between(graph.flow, graph.flow.steps[i], p) is None, not graph.likely[p]))
    return binding[0] if binding else None


def _clock_reason(graph: EventGraph, early: Early, i: int) -> str:
    if i in early.pushed:
        return "within"
    if early.start[i] == graph.floors[i] and graph.floors[i] > graph.begins:
        return "not-before"
    return "light" if i in graph.light and early.start[i] > graph.begins else ""


# --- waits -----------------------------------------------------------------------------------------------------------


def own_predecessors(flow: ExcursionFlow) -> list[dict[Thing, int]]:
    """Per step: for each of its cast the index of that actor's own step before it, where there is one."""
    last: dict[Thing, int] = {}
    found: list[dict[Thing, int]] = []
    for step in flow.steps:
        found.append({actor: last[actor] for actor in step.cast if actor in last})
        for actor in step.cast:
            last[actor] = step.index
    return found


def mark_between(flow: ExcursionFlow, step: Step, cause: int) -> Mark | None:
    """The call of ``cause`` that the step waits for, if that is why one comes after the other."""
    waits = (*step.entry.waits, *step.entry.beside)
    if waits:
        entry = flow.steps[cause].entry
        for wait in waits:
            if wait.mark.entry is entry:
                return wait.mark
    return None


def _delays(graph: EventGraph, early: Early, start: tuple[Fraction, ...], end: tuple[Fraction, ...]) -> Iterator[Delay]:
    flow = graph.flow
    outer_of: dict[int, list[int]] = {}
    for inner, outer in graph.beside:
        outer_of.setdefault(inner, []).append(outer)
    last: dict[Thing, int] = {}
    for step in flow.steps:
        i = step.index
        waiting = [actor for actor in step.cast if (early.end[last[actor]] if actor in last else 0) < early.start[i]]
        if waiting:
            cause = cause_of(graph, early, i, outer_of.get(i, ()))
            why = "" if cause is not None else _clock_reason(graph, early, i)
            mark = mark_between(flow, step, cause) if cause is not None else None
            partner = cause is not None and any(last.get(actor) == cause for actor in step.cast)
            if why == "within":
                cause = early.pushed[i].target >> 1
            for actor in waiting:
                since = end[last[actor]] if actor in last else ZERO
                yield Delay(actor, i, since, start[i], cause, mark, partner, why)
        for actor in step.cast:
            last[actor] = i


def _stretches(graph: EventGraph, early: Early) -> tuple[Stretch, ...]:
    found: list[Stretch] = []
    for inner, outer in graph.beside:
        extra = early.end[outer] - early.start[outer] - graph.likely[outer]
        if extra > 0 and early.end[inner] == early.end[outer]:
            found.append(Stretch(outer, inner, graph.seconds(extra)))
    return tuple(found)
