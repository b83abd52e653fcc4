"""Forward and backward passes over an event graph: as early, and as late, as may be. Whole ticks in and out.

What puts events at least so far apart has no circle, so one pass in order is exact; a need for light only ever moves a
start later, and never past one that was ready later, so it changes nothing about that. A maximum (``within``) is kept
by moving what it counts from later and passing again (Liao and Wong, 1983): a start moves only as far as it must, so
the times found are the earliest of all that keep the maxima. Where that does not settle there may be none.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import NamedTuple

from jackstay.timing.events import ORIGIN, AtMost, EventGraph

SOON = 12  # passes after which a contradiction is looked for
MOST_PASSES = 60  # more of them where the light moves starts on


class Early(NamedTuple):
    """Ticks by step. pushed: steps that start later only so that a maximum is kept, with that maximum. settled: every
    ``within`` that was to be kept is kept; if not, these are the times of the last attempt."""

    start: list[int]
    end: list[int]
    pushed: dict[int, AtMost]
    settled: bool

    def at(self, event: int) -> int:
        return _at(self.start, self.end, event)


def earliest(
    graph: EventGraph,
    lengths: Sequence[int] | None = None,
    floors: Sequence[int] | None = None,
    maxima: Sequence[AtMost] | None = None,
) -> Early | None:
    """As early as may be; None for an order that is circular. lengths: ticks by step, the likely ones if not given.
    maxima: what to keep of `EventGraph.at_most`, all if not given; those that count from the origin are not kept but
    judged: nothing can be done for them but being early."""
    lengths = graph.likely if lengths is None else lengths
    floors = graph.floors if floors is None else floors
    order = None if graph.plain else graph.order()
    if order is None and not graph.plain:
        return None
    within = [one for one in (graph.at_most if maxima is None else maxima) if one.source != ORIGIN]
    start, end = _forward(graph, order, lengths, floors)
    pushed: dict[int, AtMost] = {}
    # Without light, what is not settled after as many passes as there are maxima never will be.
    for count in range(len(within) + 1 + (MOST_PASSES if graph.light else 0)):
        if count == SOON and _hopeless(graph, lengths, within):
            break
        late = [one for one in within if _at(start, end, one.target) - _at(start, end, one.source) > one.gap]
        if not late:
            return Early(start, end, pushed, True)
        raised = list(floors)
        for one in late:
            step = one.source >> 1
            wanted = _at(start, end, one.target) - one.gap
            if one.source & 1:
                wanted -= lengths[step]
            if wanted > max(raised[step], start[step]):
                pushed[step] = one
            raised[step] = max(raised[step], wanted)
        floors = raised
        start, end = _forward(graph, order, lengths, floors)
    return Early(start, end, pushed, False)


def _hopeless(graph: EventGraph, lengths: Sequence[int], within: Sequence[AtMost]) -> bool:
    """Whether the maxima contradict one another even without the light: found from a circle, not from many passes."""
    from jackstay.timing.network import consistent
    from jackstay.timing.orders import network_of

    return not consistent(network_of(graph, lengths, within))


def _at(start: list[int], end: list[int], event: int) -> int:
    if event == ORIGIN:
        return 0
    return end[event >> 1] if event & 1 else start[event >> 1]


def _forward(
    graph: EventGraph, order: list[int] | None, lengths: Sequence[int], floors: Sequence[int]
) -> tuple[list[int], list[int]]:
    start, end = list(floors), [0] * len(lengths)
    light, cycle = graph.light, graph.cycle
    if order is None:
        for i, before in enumerate(graph.before):
            when = start[i]
            for other in before:
                over = end[other]
                if over > when:
                    when = over
            if i in light and cycle is not None:
                when = _lit(graph, i, when)
            start[i] = when
            end[i] = when + lengths[i]
        return start, end
    outer, inner = _beside(graph)
    for event in order:
        i = event >> 1
        if event & 1:
            end[i] = max([start[i] + lengths[i], *(end[one] for one in inner.get(i, ()))])
            continue
        when = max([start[i], *(end[one] for one in graph.before[i]), *(start[one] for one in outer.get(i, ()))])
        start[i] = _lit(graph, i, when) if i in light else when
    return start, end


def _lit(graph: EventGraph, i: int, ready: int) -> int:
    """The first moment at which the longest that step i may take fits into its light; where none ever does, at once."""
    if graph.cycle is None:
        return ready
    found = graph.cycle.earliest(ready, graph.most[i], graph.light[i])
    return ready if found is None else found


def _beside(graph: EventGraph) -> tuple[dict[int, list[int]], dict[int, list[int]]]:
    outer: dict[int, list[int]] = {}
    inner: dict[int, list[int]] = {}
    for one, other in graph.beside:
        outer.setdefault(one, []).append(other)
        inner.setdefault(other, []).append(one)
    return outer, inner


def latest(graph: EventGraph, early: Early, lengths: Sequence[int] | None = None) -> tuple[list[int], list[int]]:
    """As late as may be without moving the last end, or breaking a maximum that the early times keep: (start, end)."""
    lengths = graph.likely if lengths is None else lengths
    final = max(early.end, default=0)
    kept = [one for one in graph.at_most if early.at(one.target) <= early.at(one.source) + one.gap]
    caps = [final] * len(lengths)
    starts = [final] * len(lengths)
    for one in kept:
        if one.source == ORIGIN:
            caps[one.target >> 1] = min(caps[one.target >> 1], one.gap)
    order = None if graph.plain else graph.order()
    light = graph.light.keys() - unlit(graph, early)
    start, end = _backward(graph, order, lengths, starts, caps, light)
    within = [one for one in kept if one.source != ORIGIN]
    for _ in range(len(within) + 1 + (MOST_PASSES if graph.light else 0)):
        moved = False
        for one in within:
            most = _at(start, end, one.source) + one.gap
            step = one.target >> 1
            if _at(start, end, one.target) > most:
                moved = True
                (caps if one.target & 1 else starts)[step] = most
        if not moved:
            return start, end
        start, end = _backward(graph, order, lengths, starts, caps, light)
    # The maxima did not settle: what is early is surely not too late.
    return list(early.start), list(early.end)


def unlit(graph: EventGraph, early: Early) -> list[int]:
    """Steps that start when no stretch of their light is long enough any more: they start as if it did not matter."""
    cycle = graph.cycle
    if cycle is None:
        return []
    return [i for i, word in graph.light.items() if cycle.earliest(early.start[i], graph.most[i], word) is None]


def _backward(
    graph: EventGraph,
    order: list[int] | None,
    lengths: Sequence[int],
    starts: Sequence[int],
    caps: Sequence[int],
    light: Collection[int],
) -> tuple[list[int], list[int]]:
    start, end = list(starts), list(caps)
    if order is None:
        before = graph.before
        for i in range(len(lengths) - 1, -1, -1):
            when = end[i] - lengths[i]
            if when > start[i]:
                when = start[i]
            if i in light:
                when = _lit_by(graph, i, when)
            start[i] = when
            end[i] = when + lengths[i]
            for other in before[i]:
                if when < end[other]:
                    end[other] = when
        return start, end
    outer, inner = _beside(graph)
    for event in reversed(order):
        i = event >> 1
        if event & 1:
            for one in inner.get(i, ()):
                end[one] = min(end[one], end[i])
            continue
        when = min(start[i], end[i] - lengths[i])
        if i in light:
            when = _lit_by(graph, i, when)
        start[i] = when
        if i not in inner:
            end[i] = when + lengths[i]
        for one in graph.before[i]:
            end[one] = min(end[one], when)
        for one in outer.get(i, ()):
            start[one] = min(start[one], when)
    return start, end


def _lit_by(graph: EventGraph, i: int, by: int) -> int:
    """The last moment up to ``by`` that the forward pass would let step i start at."""
    found = graph.cycle.latest(by, graph.most[i], graph.light[i]) if graph.cycle is not None else None
    return by if found is None else found
