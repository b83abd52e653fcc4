"""How long a forecast takes beside a general graph library's longest path for each sample, and beside the bare draws.

One made-up excursion: six actors' lists, every fifth step waits for a recent one of somebody else's, every step's
length is given by three numbers of its own, and a slow day is common. The library is timed over a few samples and the
rest is reckoned from them; the durations it is given are ours, ready-made, and its ends must agree with ours.
"""

from __future__ import annotations

import math
import random
import sys
import time
import tracemalloc
from collections.abc import Callable
from typing import Any, NamedTuple

from jackstay.timing.sampling import Common, Draws, Target, sample
from jackstay.timing.sampling_network import Network, key_of

ACTORS = 6
COMMON = Common(0.2, 0.1)


class Measured(NamedTuple):
    """Seconds of processor time. whole: one pass with the end, 20 tasks and criticality. bare: the same durations
    drawn, nothing else. normal, beta: numpy's generator drawing as many standard normals (single precision), and as
    many of one beta distribution. networkx: its longest path for one sample; None where it is not installed. extra:
    bytes that were in use at most, beyond those before; result: of them, the ends that are handed out."""

    steps: int
    samples: int
    whole: float
    bare: float
    normal: float
    beta: float
    networkx: float | None
    looped: int
    extra: int
    result: int


def made_up(steps: int, seed: int = 1) -> tuple[Network, list[Target]]:
    """The excursion, and what is asked of it: its end, and the ends of twenty tasks, one after another in the text."""
    rng = random.Random(seed)
    last: dict[int, int] = {}
    incoming: list[tuple[tuple[int, float], ...]] = []
    ranges, lead = [], []
    for step in range(steps):
        actor = rng.randrange(ACTORS)
        before = {last[one] for one in (actor,) if one in last}
        if step % 7 == 0 and (helper := (actor + 1) % ACTORS) in last:
            before.add(last[helper])
            last[helper] = step
        if step % 5 == 0 and step > 50:
            before.add(step - rng.randrange(1, 50))
        last[actor] = step
        incoming += [tuple((2 * other + 1, 0.0) for other in sorted(before)), ()]
        least = rng.uniform(60, 600)
        likely = least * rng.uniform(1.0, 1.5)
        ranges.append((least, likely, likely * rng.uniform(1.1, 2.0)))
        lead.append(f"a{actor}")
    used = {source for into in incoming for source, _ in into}
    ends = [event for event in range(1, 2 * steps, 2) if event not in used]
    targets = [Target(tuple((event, 0.0) for event in ends))]
    targets += [Target(((2 * (steps * (k + 1) // 20) - 1, 0.0),)) for k in range(20)]
    net = Network(
        "long",
        tuple(range(2 * steps)),
        tuple(incoming),
        tuple(ranges),
        (0.0,) * steps,
        (None,) * steps,
        tuple(lead),
        tuple(key_of(f"step {step}") for step in range(steps)),
    )
    return net, targets


def timed(work: Callable[[], Any], times: int) -> float:
    """The least seconds of processor time."""
    least = math.inf
    for _ in range(times):
        begun = time.process_time()
        work()
        least = min(least, time.process_time() - begun)
    return least


def measure(steps: int = 10_000, samples: int = 10_000, looped: int = 3, times: int = 3) -> Measured:
    """looped: samples that the graph library is timed over."""
    import numpy as np

    net, targets = made_up(steps)

    def whole() -> Any:
        return sample(net, targets, samples, 1, COMMON, critical_to=0)

    def bare() -> None:
        draws = Draws(net, 1, COMMON)
        for first in range(0, samples, 16_384):
            draws.begin(first, min(16_384, samples - first))
            for step in range(steps):
                draws.step(step)

    generator = np.random.default_rng(1)
    row = np.empty(samples, dtype=np.float32)
    few = max(1, steps // 20)  # numpy's own draws are all alike: a twentieth of them is timed
    whole()  # tables are made once
    tracemalloc.start()
    found = whole()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return Measured(
        steps,
        samples,
        timed(whole, times),
        timed(bare, times),
        timed(lambda: [generator.standard_normal(dtype=np.float32, out=row) for _ in range(few)], 1) * steps / few,
        timed(lambda: [generator.beta(2.0, 4.0, samples) for _ in range(few)], 1) * steps / few,
        _networkx(net, found.latest[0], looped),
        looped,
        peak,
        found.latest.nbytes,
    )


def _networkx(net: Network, ends: Any, looped: int) -> float | None:
    """Seconds for one sample: setting the weights, and the longest path."""
    try:
        import networkx
    except ImportError:
        return None
    draws = Draws(net, 1, COMMON)
    draws.begin(0, looped)
    rows = [draws.step(step) for step in range(net.steps)]
    graph = networkx.DiGraph()
    graph.add_nodes_from(range(net.steps + 1))
    graph.add_edges_from((source >> 1, event >> 1) for event, into in enumerate(net.incoming) for source, _ in into)
    graph.add_edges_from((step, net.steps) for step in range(net.steps))
    spent = 0.0
    for k in range(looped):
        lengths = [row if isinstance(row, float) else float(row[k]) for row in rows]
        begun = time.process_time()
        for source, _, data in graph.edges(data=True):
            data["weight"] = lengths[source]
        longest = networkx.dag_longest_path_length(graph)
        spent += time.process_time() - begun
        if not math.isclose(longest, float(ends[k]), rel_tol=1e-5):
            raise AssertionError(f"sample {k} ends at {float(ends[k])}, by networkx at {longest}")
    return spent / looped


def lines(steps: int = 10_000, samples: int = 10_000) -> list[str]:
    """What was measured, in words."""
    row = measure(steps, samples)
    found = [
        f"forecast, {row.steps} steps x {row.samples} samples, with criticality: {row.whole:.2f} s; "
        f"{row.whole / row.bare:.2f} times the bare cost of drawing the same samples ({row.bare:.2f} s); as many plain "
        f"normals of numpy {row.normal:.2f} s, betas {row.beta:.2f} s",
        f"forecast, memory: {row.extra / 2**20:.1f} MiB extra at most, {row.result / 2**20:.1f} of them the ends "
        "that are handed out",
    ]
    if row.networkx is None:
        return [*found, "networkx is not installed"]
    loop = row.networkx * row.samples
    return [
        *found,
        f"a networkx longest path for each sample: {loop:.0f} s, reckoned from {row.looped} of them "
        f"({row.networkx:.3f} s each): {loop / row.whole:.0f} times as long",
    ]


if __name__ == "__main__":
    print("\n".join(lines(*map(int, sys.argv[1:3]))))
