"""An excursion as a temporal network with uncontrolled durations, for `controllable`.

Point i is event i of the graph; then comes the origin, then, for each step that others keep open, the moment at which
its own work is over. Durations with a spread are links, which nature decides; everything else the crew chooses. The
light is left out: it only takes choices away.
"""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.timing.controllable import Link, Uncertain
from jackstay.timing.deadlines import Deadline
from jackstay.timing.events import ORIGIN, AtMost, EventGraph
from jackstay.timing.network import Constraint


def uncertain(graph: EventGraph, maxima: Iterable[AtMost | Deadline]) -> Uncertain:
    """The network with these maxima, of the steps that have a say in them. A maximum is the tag of its constraints, a
    step's number that of its link."""
    maxima = list(maxima)
    asked = concerned(graph, maxima)
    size = len(graph.before)
    origin = 2 * size
    points = origin + 1
    kept_open = {outer: 0 for _, outer in graph.beside}
    constraints: list[Constraint] = []
    links: list[Link] = []
    for i in sorted(asked):
        before = graph.before[i]
        start, end = 2 * i, 2 * i + 1
        if graph.floors[i] or not before:
            constraints.append(Constraint(start, origin, -graph.floors[i]))
        constraints += [Constraint(start, 2 * other + 1, 0) for other in before]
        if i in kept_open:
            constraints.append(Constraint(end, points, 0))
            end, points = points, points + 1
        if graph.least[i] == graph.most[i]:
            constraints.append(Constraint(start, end, graph.most[i]))
            constraints.append(Constraint(end, start, -graph.least[i]))
        else:
            links.append(Link(start, end, graph.least[i], graph.most[i], i))
    for inner, outer in graph.beside:
        if not {inner, outer} <= asked:
            continue
        constraints.append(Constraint(2 * inner, 2 * outer, 0))
        constraints.append(Constraint(2 * outer + 1, 2 * inner + 1, 0))
    for one in maxima:
        source = origin if one.source == ORIGIN else one.source
        targets = _last(graph) if one.target is None else [one.target]
        constraints += [Constraint(source, target, one.gap, one) for target in targets]
    return Uncertain(points, constraints, links, origin)


def _last(graph: EventGraph) -> list[int]:
    """The ends that nothing comes after."""
    followed = {other for before in graph.before for other in before} | {inner for inner, _ in graph.beside}
    return [2 * i + 1 for i in range(len(graph.before)) if i not in followed]


def concerned(graph: EventGraph, maxima: Iterable[AtMost | Deadline]) -> set[int]:
    """The steps that have a say in whether these are kept."""
    events: list[int] = []
    for one in maxima:
        events += [one.source, *(_last(graph) if one.target is None else [one.target])]
    return behind(graph, events)


def behind(graph: EventGraph, events: Iterable[int]) -> set[int]:
    """The steps that have a say in when these events are: theirs, and all that these wait for."""
    into = graph.into()
    found: set[int] = set()
    waiting = [event for event in events if event != ORIGIN]
    seen = set(waiting)
    while waiting:
        event = waiting.pop()
        found.add(event >> 1)
        for source in (*into[event], *((event - 1,) if event & 1 else ())):
            if source not in seen:
                seen.add(source)
                waiting.append(source)
    return found
