"""Folding inserted steps into nodes never turns an order round, whatever waits on what."""

from __future__ import annotations

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st
from outputs.small_plan import Builder, Checked, minutes, pier

from jackstay.outputs.folding import fold
from jackstay.outputs.views import is_written, views_of


@st.composite
def random_plan(draw: st.DrawFn) -> Checked:
    """Blocks of one or two actors; entries with inserted steps before and after their own; waits across."""
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    for number in range(3):
        b.thing(f"p{number}", "person", at="room-a")
    work, move = b.action("work", minutes(1)), b.action("move", minutes(1))
    b.excursion("one", ("p0", "p1", "p2"))
    task = b.task("all")
    casts = st.sampled_from([("p0",), ("p1",), ("p2",), ("p0", "p1"), ("p1", "p2")])
    for _ in range(draw(st.integers(1, 6))):
        cast = draw(casts)
        block = b.block(*cast, place="room-a")
        for one in cast:
            arrival = b.entry(task, block, (one,))
            for _ in range(draw(st.integers(0, 2))):
                b.step(arrival, action=move)
        for _ in range(draw(st.integers(0, 2))):
            entry = b.entry(task, block, cast, work, (), "work")
            for _ in range(draw(st.integers(0, 1))):
                b.step(entry, action=move, cast=cast[:1])
            b.step(entry)
            for _ in range(draw(st.integers(0, 1))):
                b.step(entry, action=move, cast=cast[:1])
    plan = b.checked()
    flow = plan.flow.excursions[0]
    count = len(flow.steps)
    if count > 1:
        pairs = st.tuples(st.integers(0, count - 1), st.integers(0, count - 1)).filter(lambda pair: pair[0] < pair[1])
        for earlier, later in draw(st.lists(pairs, max_size=4)):
            flow.predecessors[later] = tuple(sorted({*flow.predecessors[later], earlier}))
    return plan


@settings(max_examples=120, deadline=None)
@given(random_plan())
def test_the_nodes_keep_an_order_without_circles(plan: Checked) -> None:
    (view,) = views_of(plan.flow)
    home = fold(view)
    graph = nx.DiGraph()
    for later, before in enumerate(view.flow.predecessors):
        for earlier in before:
            if home[earlier] != home[later]:
                graph.add_edge(home[earlier], home[later])
    assert nx.is_directed_acyclic_graph(graph)
    for step in view.flow.steps:
        assert home[home[step.index]] == home[step.index]
        if is_written(step):
            assert home[step.index] == step.index


def test_a_way_and_a_drawn_tool_stand_in_the_node_of_their_step() -> None:
    (view,) = views_of(pier().flow)
    home = fold(view)
    words = {step.entry.text: step.index for step in view.flow.steps if is_written(step)}
    undo = words["undo bolts of lamp with driver"]
    assert [index for index, node in home.items() if node == undo] == [0, 1, undo, undo + 1]
