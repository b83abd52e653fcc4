"""How long a schedule takes beside the longest path of general graph libraries, on one made-up excursion.

All three are given their graph ready-made and asked for one figure, the length of the longest path; ours is also timed
with the backward pass, and with building the graph from the flow.
"""

from __future__ import annotations

import gc
import math
import random
import time
from collections.abc import Callable
from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Action, Block, Const, Entry, Excursion, Kind, Task, Thing
from jackstay.source.spans import NOWHERE
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import earliest, latest

ACTORS = 6
MINUTE = 60


class Measured(NamedTuple):
    """Seconds of processor time; None where the library is not installed. longest: seconds, the same by all."""

    steps: int
    build: float
    forward: float
    both: float
    networkx: float | None
    rustworkx: float | None
    longest: float


def made_up(steps: int, seed: int = 1) -> ExcursionFlow:
    """Six actors' lists; every fifth step waits for a recent one of somebody else's; every seventh has a helper."""
    rng = random.Random(seed)
    kind = Kind("hand", "Hand", "actor", NOWHERE)
    actors = [Thing(i, f"a{i}", f"A{i}", "actor", kind, NOWHERE) for i in range(ACTORS)]
    excursion = Excursion("long", "Long", NOWHERE, "long")
    task = Task("all", "All", "required", excursion, NOWHERE)
    lengths = [
        Action("work", (), (), NOWHERE, "long", takes=Const(Fraction(n * MINUTE), (("time", 1),), f"{n} min"))
        for n in range(1, 13)
    ]
    flow = ExcursionFlow(excursion, {actor: i for i, actor in enumerate(actors)})
    last: dict[Thing, int] = {}
    for index in range(steps):
        doer = actors[rng.randrange(ACTORS)]
        cast = (doer,) if index % 7 else (doer, actors[(doer.index + 1) % ACTORS])
        entry = Entry(index, task, Block(cast, (), None, None, NOWHERE), cast, NOWHERE, rng.choice(lengths))
        step = Step(index, entry, entry.action, (doer, None), cast, False)
        before = {last[one] for one in cast if one in last}
        if index % 5 == 0 and index > 50:
            before.add(index - rng.randrange(1, 50))
        flow.steps.append(step)
        flow.predecessors.append(tuple(sorted(before)))
        for one in cast:
            last[one] = index
    return flow


def best(work: Callable[[], Any], times: int) -> float:
    """The least seconds of processor time."""
    least = math.inf
    for _ in range(times):
        gc.collect()
        gc.disable()
        begun = time.process_time()
        work()
        least = min(least, time.process_time() - begun)
        gc.enable()
    return least


def measure(steps: int, times: int = 5) -> Measured:
    """One row of the table. The three longest paths must agree to the second."""
    flow = made_up(steps)
    graph = EventGraph(flow)

    def forward() -> int:
        early = earliest(graph)
        assert early is not None
        return max(early.end)

    def both() -> None:
        early = earliest(graph)
        assert early is not None
        latest(graph, early)

    longest = graph.seconds(forward())
    return Measured(
        steps,
        best(lambda: EventGraph(flow), times),
        best(forward, times),
        best(both, times),
        _networkx(flow, graph, longest, times),
        _rustworkx(flow, graph, longest, times),
        float(longest),
    )


def _edges(flow: ExcursionFlow, graph: EventGraph) -> list[tuple[int, int, int]]:
    """Steps as nodes, the duration of the earlier on each edge, and one node after all."""
    size = len(flow.steps)
    found = [(other, i, graph.likely[other]) for i, before in enumerate(flow.predecessors) for other in before]
    return found + [(i, size, graph.likely[i]) for i in range(size)]


def _networkx(flow: ExcursionFlow, graph: EventGraph, longest: Fraction, times: int) -> float | None:
    try:
        import networkx
    except ImportError:
        return None
    other = networkx.DiGraph()
    other.add_weighted_edges_from(_edges(flow, graph))
    found = networkx.dag_longest_path_length(other)
    assert Fraction(found, graph.scale) == longest
    return best(lambda: networkx.dag_longest_path_length(other), max(1, times // 2))


def _rustworkx(flow: ExcursionFlow, graph: EventGraph, longest: Fraction, times: int) -> float | None:
    try:
        import rustworkx
    except ImportError:
        return None
    other = rustworkx.PyDiGraph()
    other.add_nodes_from(list(range(len(flow.steps) + 1)))
    other.add_edges_from(_edges(flow, graph))

    def work() -> int:
        return int(rustworkx.dag_longest_path_length(other, lambda _a, _b, weight: weight))

    assert Fraction(work(), graph.scale) == longest
    return best(work, times)


def lines(sizes: tuple[int, ...] = (10_000, 100_000)) -> list[str]:
    """The table, one row a size: milliseconds, and how many times as long the libraries take as our forward pass."""
    found = ["steps | graph ms | forward ms | with backward ms | networkx | rustworkx"]
    for size in sizes:
        row = measure(size, 5 if size <= 10_000 else 3)
        others = [
            "not installed" if other is None else f"{other / row.forward:.1f} times"
            for other in (row.networkx, row.rustworkx)
        ]
        figures = [f"{1000 * one:.1f}" for one in (row.build, row.forward, row.both)]
        found.append(" | ".join([f"{size:,}", *figures, *others]))
    return found


if __name__ == "__main__":
    print("\n".join(lines()))
