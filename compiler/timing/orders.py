"""An excursion as a simple temporal network (`network`), for maxima that cannot be kept together.

Point i is event i of the graph; then comes the origin. The light is left out: it only takes choices away, so what
cannot be kept without it cannot be kept.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jackstay.timing.events import ORIGIN, AtMost, EventGraph
from jackstay.timing.network import Constraint, Network


def network_of(graph: EventGraph, lengths: Sequence[int], maxima: Iterable[AtMost]) -> Network:
    """The order, the floors and the durations, and these maxima, each the tag of its constraint. A step that others
    keep open may last as long as it likes."""
    origin = 2 * len(graph.before)
    kept_open = {outer for _, outer in graph.beside}
    made: list[Constraint] = []
    for i, before in enumerate(graph.before):
        if graph.floors[i] or not before:
            made.append(Constraint(2 * i, origin, -graph.floors[i]))
        made.append(Constraint(2 * i + 1, 2 * i, -lengths[i]))
        if i not in kept_open:
            made.append(Constraint(2 * i, 2 * i + 1, lengths[i]))
        made += [Constraint(2 * i, 2 * other + 1, 0) for other in before]
    for inner, outer in graph.beside:
        made += [Constraint(2 * inner, 2 * outer, 0), Constraint(2 * outer + 1, 2 * inner + 1, 0)]
    for one in maxima:
        made.append(Constraint(origin if one.source == ORIGIN else one.source, one.target, one.gap, one))
    return Network(origin + 1, made, origin)
