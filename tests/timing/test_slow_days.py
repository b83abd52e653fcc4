"""Limits that count from a call, against every combination of durations and against the general algorithm."""

from __future__ import annotations

import itertools

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from timing.graphs import at_most, graphs

from jackstay.timing.controllable import conflict_by_waits
from jackstay.timing.deadlines import Deadline
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import earliest
from jackstay.timing.slow_days import surely_kept
from jackstay.timing.uncertain import uncertain


@st.composite
def uncertain_graphs(draw: st.DrawFn) -> EventGraph:
    graph = draw(graphs(most=6, light=False))
    loose = draw(st.lists(st.integers(0, len(graph.most) - 1), max_size=4, unique=True))
    for i in loose:
        graph.most = [n + draw(st.integers(1, 6)) if j == i else n for j, n in enumerate(graph.most)]
    graph.likely = list(graph.least)
    return graph


def days(graph: EventGraph) -> list[list[int]]:
    """Every combination of shortest and longest durations: between them nothing is worse."""
    return [list(one) for one in itertools.product(*({a, b} for a, b in zip(graph.least, graph.most, strict=True)))]


@settings(max_examples=200, deadline=None)
@given(uncertain_graphs(), st.data())
def test_what_is_surely_kept_is_kept_on_every_day(graph: EventGraph, data: st.DataObject) -> None:
    steps = st.integers(0, len(graph.most) - 1)
    call, target = 2 * data.draw(steps) + 1, data.draw(st.one_of(st.none(), steps))
    one = Deadline(call, None if target is None else 2 * target + 1, data.draw(st.integers(0, 40)), None)
    if not surely_kept(graph, one):
        return
    for lengths in days(graph):
        early = earliest(graph, lengths, maxima=())
        assert early is not None
        assert one.late(graph, early) <= 0
    assert conflict_by_waits(uncertain(graph, [one])) is None


@settings(max_examples=200, deadline=None)
@given(uncertain_graphs(), st.data())
def test_with_certain_durations_control_is_consistency(graph: EventGraph, data: st.DataObject) -> None:
    graph.most = list(graph.least)
    events = st.integers(0, 2 * len(graph.before) - 1)
    for source, target, gap in data.draw(st.lists(st.tuples(events, events, st.integers(0, 12)), max_size=3)):
        if source != target:
            at_most(graph, source, target, gap)
    assume(graph.at_most and not graph.beside)
    early = earliest(graph)
    assert early is not None
    assert early.settled == (conflict_by_waits(uncertain(graph, graph.at_most)) is None)
