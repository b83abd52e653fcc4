"""Small event graphs for tests: random orders of steps with floors, light and maxima, and a plain reference."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from hypothesis import strategies as st
from timing.test_schedule import flow_of

from jackstay.model.records import Mark, TimeBound
from jackstay.source.spans import NOWHERE
from jackstay.timing.events import ORIGIN, AtMost, EventGraph
from jackstay.timing.light import DARK, DAYLIGHT, Cycle

MINUTE = 60


def a_graph(
    plan: list[tuple[int, tuple[int, ...]]],
    links: Sequence[tuple[int, int]] = (),
    beside: Sequence[tuple[int, int]] = (),
) -> EventGraph:
    """plan: (minutes, actors) of each step. The graph's ticks are minutes."""
    graph = EventGraph(flow_of([(n, who, None) for n, who in plan], list(links), list(beside)))
    graph.least = graph.likely = graph.most = [n for n, _ in plan]
    graph.scale = 1
    graph.flow.excursion.title = f"{plan} {list(links)} {list(beside)}"  # for what a failing test prints
    return graph


def at_most(graph: EventGraph, source: int, target: int, gap: int) -> AtMost:
    """A maximum as a ``by`` or a ``within`` makes it; added to the graph."""
    mark = None
    if source != ORIGIN:
        step = graph.flow.steps[source >> 1]
        mark = Mark(f"m{source}", step.entry.task, step.entry, NOWHERE)
    bound = TimeBound("by" if mark is None else "within", Fraction(gap), mark, "", NOWHERE)
    made = AtMost(source, target, gap, bound, target >> 1)
    graph.at_most.append(made)
    return made


@st.composite
def graphs(draw: st.DrawFn, most: int = 8, light: bool = True, beside: bool = True) -> EventGraph:
    count = draw(st.integers(1, most))
    casts = st.sets(st.integers(0, 2), min_size=1, max_size=2).map(lambda found: tuple(sorted(found)))
    plan = [(draw(st.integers(0, 9)), draw(casts)) for _ in range(count)]
    pairs = [(a, b) for b in range(count) for a in range(b)]
    links = draw(st.lists(st.sampled_from(pairs), max_size=5)) if pairs else []
    within = []
    if pairs and beside and draw(st.booleans()):
        outer, inner = draw(st.sampled_from(pairs))
        if not set(plan[outer][1]) & set(plan[inner][1]):
            within = [(inner, outer)]
    graph = a_graph(plan, links, within)
    if graph.order() is None:  # the inner step waits for the outer one's end
        graph = a_graph(plan, links)
    for i in range(count):
        if draw(st.integers(0, 3)) == 0:
            graph.floors[i] = draw(st.integers(0, 25))
    if light:
        every = draw(st.integers(1, 14))
        graph.cycle = Cycle(draw(st.integers(0, every)), every, draw(st.integers(0, 12)))
        for i in range(count):
            if draw(st.integers(0, 2)) == 0:
                graph.light[i] = draw(st.sampled_from([DAYLIGHT, DARK]))
    return graph


def fitting(graph: EventGraph, i: int, start: int) -> bool:
    """Whether step i may start then, as far as the clock and the light go; a step that never fits may always."""
    if start < graph.floors[i]:
        return False
    if i not in graph.light or graph.cycle is None:
        return True
    word, cycle = graph.light[i], graph.cycle
    return cycle.earliest(start, graph.most[i], word) in (start, None)  # None: it never fits any more


def relaxed(graph: EventGraph, horizon: int = 1000) -> tuple[list[int], list[int]]:
    """Earliest starts and ends by trying again and again, moment by moment: nothing of the passes under test."""
    count = len(graph.before)
    start, end = [0] * count, [0] * count
    moved = True
    while moved:
        moved = False
        for i in range(count):
            ready = max([0, *(end[other] for other in graph.before[i])])
            ready = max([ready, *(start[outer] for inner, outer in graph.beside if inner == i)])
            when = next(at for at in range(ready, horizon) if fitting(graph, i, at))
            over = max([when + graph.likely[i], *(end[inner] for inner, outer in graph.beside if outer == i)])
            if (when, over) != (start[i], end[i]):
                start[i], end[i], moved = when, over, True
    return start, end
