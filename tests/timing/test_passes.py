"""Early and late times of event graphs against relaxation, longest paths and forced delays."""

from __future__ import annotations

import itertools

import networkx as nx
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from timing.graphs import a_graph, at_most, fitting, graphs, relaxed

from jackstay.timing.deadlines import chain, clash
from jackstay.timing.events import ORIGIN, EventGraph
from jackstay.timing.network import Constraint, Network, consistent
from jackstay.timing.network import earliest as earliest_of_network
from jackstay.timing.network import latest as latest_of_network
from jackstay.timing.passes import Early, earliest, latest, unlit
from jackstay.timing.schedule import critical_chain


def early_of(graph: EventGraph, floors: list[int] | None = None) -> Early:
    found = earliest(graph, floors=floors)
    assert found is not None
    return found


@settings(max_examples=300, deadline=None)
@given(graphs())
def test_earliest_is_what_trying_every_moment_finds(graph: EventGraph) -> None:
    early = early_of(graph)
    assert (early.start, early.end) == relaxed(graph)


@settings(max_examples=150, deadline=None)
@given(graphs(light=False, beside=False))
def test_the_end_is_the_longest_path(graph: EventGraph) -> None:
    other = nx.DiGraph()
    for i, before in enumerate(graph.before):
        other.add_edge("begin", ("start", i), weight=graph.floors[i])
        other.add_edge(("start", i), ("end", i), weight=graph.likely[i])
        other.add_weighted_edges_from((("end", one), ("start", i), 0) for one in before)
    assert max(early_of(graph).end) == nx.dag_longest_path_length(other)


@settings(max_examples=200, deadline=None)
@given(graphs(), st.data())
def test_a_step_may_be_delayed_by_its_slack_and_no_more(graph: EventGraph, data: st.DataObject) -> None:
    early = early_of(graph)
    if data.draw(st.booleans()):
        i = data.draw(st.integers(0, len(early.end) - 1))
        at_most(graph, ORIGIN, 2 * i + 1, early.end[i] + data.draw(st.integers(-3, 9)))
    kept = [one for one in graph.at_most if early.at(one.target) <= one.gap]
    late_start, late_end = latest(graph, early)
    for i in range(len(early.start)):
        assert early.start[i] <= late_start[i]
        assert early.end[i] <= late_end[i]
        for delay, harmless in ((late_start[i], True), (late_start[i] + 1, False)):
            floors = list(graph.floors)
            floors[i] = max(floors[i], delay)
            forced = early_of(graph, floors)
            moved = max(forced.end) > max(early.end)
            missed = any(forced.at(one.target) > one.gap for one in kept)
            dark = len(unlit(graph, forced)) > len(unlit(graph, early))
            assert (moved or missed or dark) != harmless


@settings(max_examples=200, deadline=None)
@given(graphs())
def test_everything_as_late_as_may_be_still_keeps_the_order(graph: EventGraph) -> None:
    early = early_of(graph)
    start, end = latest(graph, early)
    for i, before in enumerate(graph.before):
        assert start[i] + graph.likely[i] <= end[i] <= max(early.end)
        assert fitting(graph, i, start[i])
        assert all(end[other] <= start[i] for other in before)
    for inner, outer in graph.beside:
        assert start[outer] <= start[inner]
        assert end[inner] <= end[outer]


@settings(max_examples=200, deadline=None)
@given(graphs())
def test_the_critical_chain_has_no_gap_and_no_slack(graph: EventGraph) -> None:
    early = early_of(graph)
    late, _ = latest(graph, early)
    links = critical_chain(graph, early)
    assert all(late[link.step] == early.start[link.step] for link in links)
    assert [bool(link.why) for link in links] == [True] + [False] * (len(links) - 1)
    first = links[0].step
    if links[0].why == "start":
        assert early.start[first] == 0
    elif links[0].why == "not-before":
        assert early.start[first] == graph.floors[first] > 0
    else:
        assert links[0].why == "light"
        assert not fitting(graph, first, early.start[first] - 1)
    parts = chain(graph, early)
    assert all(one.until == other.since for one, other in itertools.pairwise(parts))
    assert parts[0].since == early.start[first]
    assert parts[-1].until == max(early.end)


def network_of(graph: EventGraph) -> Network:
    """The same as a plain network, for graphs without light and steps that run beside others."""
    origin = 2 * len(graph.before)
    made = []
    for i, before in enumerate(graph.before):
        made.append(Constraint(2 * i, origin, -graph.floors[i]))
        made.append(Constraint(2 * i, 2 * i + 1, graph.likely[i]))
        made.append(Constraint(2 * i + 1, 2 * i, -graph.likely[i]))
        made += [Constraint(2 * i, 2 * other + 1, 0) for other in before]
    made += [Constraint(one.source, one.target, one.gap) for one in graph.at_most]
    return Network(origin + 1, made, origin)


@settings(max_examples=300, deadline=None)
@given(graphs(light=False, beside=False), st.data())
def test_maxima_are_kept_just_when_the_network_is_consistent(graph: EventGraph, data: st.DataObject) -> None:
    events = st.integers(0, 2 * len(graph.before) - 1)
    for source, target, gap in data.draw(
        st.lists(st.tuples(events, events, st.integers(0, 12)), min_size=1, max_size=4)
    ):
        if source != target:
            at_most(graph, source, target, gap)
    assume(graph.at_most)
    network = network_of(graph)
    early = early_of(graph)
    assert early.settled == consistent(network)
    if not early.settled:
        found = clash(graph)
        assert found is not None
        every = graph.at_most
        for left_out in (None, *found.maxima):
            graph.at_most = [one for one in found.maxima if one is not left_out]
            assert consistent(network_of(graph)) == (left_out is not None)
        graph.at_most = every
        return
    assert clash(graph) is None
    least = earliest_of_network(network)
    assert least is not None
    assert [early.at(event) for event in range(2 * len(graph.before))] == least[:-1]
    start, end = latest(graph, early)
    final = max(early.end)
    ends = [Constraint(network.origin, 2 * i + 1, final) for i in range(len(start))]
    most = latest_of_network(network.with_constraint(*ends))
    assert most is not None
    assert [time for pair in zip(start, end, strict=True) for time in pair] == most[:-1]


def test_a_step_waits_so_that_a_maximum_is_kept() -> None:
    graph = a_graph([(2, (0,)), (9, (1,)), (1, (1,))])
    within = at_most(graph, 1, 5, 4)
    early = early_of(graph)
    assert early.settled
    assert early.start == [4, 0, 9]
    assert early.pushed == {0: within}


def test_ten_thousand_steps_in_one_chain() -> None:
    graph = a_graph([(1, (0,))] * 10_000)
    early = early_of(graph)
    assert max(early.end) == 10_000
    assert latest(graph, early) == (early.start, early.end)
    assert len(critical_chain(graph, early)) == 10_000
