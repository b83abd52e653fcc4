"""What must not come too late, and how its time adds up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from copy import copy
from fractions import Fraction
from typing import NamedTuple

from jackstay.flow.records import Step
from jackstay.model.records import Mark, TimeBound
from jackstay.timing.events import ORIGIN, AtMost, EventGraph
from jackstay.timing.passes import Early, earliest
from jackstay.timing.schedule import Link, clock_events, critical_chain

ZERO = Fraction(0)


class Deadline(NamedTuple):
    """``target`` comes at most ``gap`` ticks after ``source`` (an event or `ORIGIN`; a target of None is the last end
    of all). bound: the ``by`` it stands in; None: the excursion's limit."""

    source: int
    target: int | None
    gap: int
    bound: TimeBound | None

    def late(self, graph: EventGraph, early: Early) -> Fraction:
        """By how many seconds it is missed; nothing or less: it is kept."""
        end = max(early.end, default=0) if self.target is None else early.at(self.target)
        return graph.seconds(end - early.at(self.source) - self.gap)


def deadlines(graph: EventGraph, reserve: bool) -> Iterator[Deadline]:
    """Every ``by``, and the limit of the excursion's clock, with or without its reserve kept back."""
    for one in graph.at_most:
        if one.source == ORIGIN:
            yield Deadline(ORIGIN, one.target, one.gap, one.bound)
    limit = limit_of(graph, reserve)
    if limit is not None:
        yield limit


def limit_of(graph: EventGraph, reserve: bool) -> Deadline | None:
    excursion = graph.flow.excursion
    if excursion.limit is None:
        return None
    seconds = excursion.limit.value
    if reserve and excursion.reserve is not None:
        seconds -= excursion.reserve.value
    zero, stop = clock_events(graph)
    # A limit is no whole number of ticks; the last tick that keeps it is what counts.
    gap = seconds.numerator * graph.scale // seconds.denominator
    return Deadline(ORIGIN if zero is None else zero, stop, gap, None)


class Part(NamedTuple):
    """One step of a chain: from the moment that the one before lets it start to the moment that it lets the next one
    start, in seconds from the excursion's start. why: as `schedule.Link` has it; kept: of ``within``, the bound that it
    waits for the sake of, and the step that this is said of."""

    step: Step
    why: str
    since: Fraction
    until: Fraction
    kept: tuple[TimeBound, Step] | None = None


def chain(graph: EventGraph, early: Early, to: int | None = None) -> tuple[Part, ...]:
    """How the time up to an event adds up (None: up to the last end). The parts follow on each other without a gap."""
    links = critical_chain(graph, early, to)
    starts = [early.start[link.step] for link in links]
    last = max(early.end, default=0) if to is None else early.at(to)
    steps = graph.flow.steps

    def kept(link: Link) -> tuple[TimeBound, Step] | None:
        one = early.pushed[link.step] if link.why == "within" else None
        return None if one is None else (one.bound, steps[one.step])

    return tuple(
        Part(steps[link.step], link.why, graph.seconds(since), graph.seconds(until), kept(link))
        for link, since, until in zip(links, starts, [*starts[1:], last], strict=True)
    )


# --- maxima between two moments --------------------------------------------------------------------------------------


FEW = 40  # bounds that the light sets against one another and that are told one by one which of them matter


class Clash(NamedTuple):
    """Maxima that no schedule keeps together: leaving out any one of them, the others can be kept. chains: for each,
    how the time between its two moments adds up, and how long that is, in seconds: of a single maximum the least there
    can be (the light left out, unless it alone is in the way), of several as the last attempt has it."""

    maxima: tuple[AtMost, ...]
    chains: tuple[tuple[Part, ...], ...]
    lengths: tuple[Fraction, ...]


def clash(graph: EventGraph, lengths: Sequence[int] | None = None) -> Clash | None:
    """A smallest set of ``within`` bounds that cannot all be kept; None where they can."""
    kept = [one for one in graph.at_most if one.source != ORIGIN]
    if not kept:
        return None
    early = earliest(graph, lengths, maxima=kept)
    if early is None or early.settled:
        return None
    kept = _irreducible(graph, graph.likely if lengths is None else lengths, kept)
    early = earliest(graph, lengths, maxima=kept)
    for one in list(kept) if len(kept) <= FEW else ():
        fewer = [other for other in kept if other is not one]
        attempt = earliest(graph, lengths, maxima=fewer)
        if attempt is not None and not attempt.settled:
            kept, early = fewer, attempt
    assert early is not None
    if len(kept) == 1:
        least = _closest(graph, graph.likely if lengths is None else lengths, kept[0])
        if least is not None:
            return Clash((kept[0],), (least[0],), (least[1],))
    chains = []
    for one in kept:
        parts = chain(graph, early, one.target)
        since = graph.seconds(early.at(one.source))
        chains.append(tuple(part for part in parts if part.until > since))
    spans = tuple(graph.seconds(early.at(one.target) - early.at(one.source)) for one in kept)
    return Clash(tuple(kept), tuple(chains), spans)


def _closest(graph: EventGraph, lengths: Sequence[int], one: AtMost) -> tuple[tuple[Part, ...], Fraction] | None:
    """How close the two moments of a maximum can come at the least, without regard to the light, and how that adds up.
    None: close enough; then it is the light that keeps them apart."""
    unlit = copy(graph)
    unlit.light = {}
    floors = list(graph.floors)
    floors[one.source >> 1] = sum(lengths) + max(floors, default=0)  # all is over by then, but what comes after it
    early = earliest(unlit, lengths, floors=floors, maxima=())
    if early is None:
        return None
    since = early.at(one.source)
    apart = early.at(one.target) - since
    if apart <= one.gap:
        return None
    parts = chain(unlit, early, one.target)
    return tuple(part for part in parts if part.until > graph.seconds(since)), graph.seconds(apart)


def _irreducible(graph: EventGraph, lengths: Sequence[int], maxima: list[AtMost]) -> list[AtMost]:
    """Those that contradict one another without the light, with none to spare; all, where only the light keeps them
    from being kept."""
    from jackstay.timing.network import clash as clash_of
    from jackstay.timing.orders import network_of

    found = clash_of(network_of(graph, lengths, maxima), lambda one: isinstance(one.tag, AtMost))
    tags = set(found.tags) if found is not None else set()
    return [one for one in maxima if one in tags] or maxima


def mark_at(graph: EventGraph, one: AtMost) -> Mark:
    """The call that a ``within`` speaks of."""
    assert one.bound.mark is not None
    return one.bound.mark
