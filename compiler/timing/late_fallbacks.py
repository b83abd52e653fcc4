"""Whether a fallback is over within the limit, begun at the latest moment at which the nominal plan may call it.

The reserve counts as time that may be used: this is what it is kept back for.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from jackstay.flow.records import ExcursionFlow
from jackstay.timing.deadlines import Part, chain
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import earliest
from jackstay.timing.records import Times
from jackstay.timing.variants import FallbackFlight, Variants

Report = Callable[..., None]
ZERO = Fraction(0)


def check_late_fallbacks(one: ExcursionFlow, times: Times, variants: Variants, report: Report) -> None:
    """Report ``fallback-past-limit``, once for each fallback: begun after the call that makes it latest."""
    limit = one.excursion.limit
    if limit is None:
        return
    for fallback in one.excursion.fallbacks:
        worst: tuple[Fraction, FallbackFlight, tuple[Part, ...]] | None = None
        for flight in variants.fallback(fallback, times):
            graph = EventGraph(flight.flow, also=(flight.begins,))
            begun = graph.ticks(flight.begins)
            early = earliest(graph, floors=[max(floor, begun) for floor in graph.floors], maxima=())
            if early is None:
                continue
            stop = graph.event_of(one.excursion.clock_ends) if one.excursion.clock_ends is not None else None
            end = graph.seconds(early.at(stop) if stop is not None else max(early.end, default=begun))
            if worst is None or end > worst[0]:
                worst = (end, flight, chain(graph, early, stop))
        if worst is None:
            continue
        end, flight, parts = worst
        late = end - times.clock_zero - limit.value
        if late > 0:
            report(
                "fallback-past-limit",
                fallback.decl,
                fallback=fallback,
                call=flight.call,
                begins=flight.begins,
                end=end,
                zero=times.clock_zero,
                late=late,
                chain=parts,
            )
