"""How long deciding dynamic controllability takes, on made-up excursions of two or three actors.

`ratios` is what a table of benchmarks wants; `naive` is a second algorithm, slow and simple, that tests compare with.

    python -m tests.benchmarks.controllability            # the table
    python -m tests.benchmarks.controllability --quick    # without the longest
"""

from __future__ import annotations

import argparse
import gc
import math
import random
import time
from collections.abc import Callable
from typing import NamedTuple

from jackstay.timing.controllable import Conflict, Link, Uncertain, conflict_by_waits, missed_deadline
from jackstay.timing.network import Constraint, Network, earliest

NEVER = float("inf")


def choreography(
    steps: int, seed: int = 0, actors: int = 2, share: float = 0.1, tight: float = 1.0, deadlines: bool = True
) -> Uncertain:
    """Steps of uncertain length, dealt out to actors who work through their own in order and wait for one another.

    Point 0 is the origin, 2i + 1 the start of step i, 2i + 2 its end; seconds. share: so many steps have a ``within``:
    they start at most so long after the end of a step of another actor that they wait for. tight: 1.0 makes each window
    and each deadline just so long that starting everything as soon as may be keeps it; less may not be kept."""
    rng = random.Random(f"{steps} {seed} {actors} {share}")
    links: list[Link] = []
    minima: list[Constraint] = []
    last: list[int | None] = [None] * actors
    waits: list[tuple[int, int]] = []
    for i in range(steps):
        actor = rng.randrange(actors)
        start, end = 2 * i + 1, 2 * i + 2
        least = rng.randrange(60, 900)
        links.append(Link(start, end, least, least + rng.randrange(10, 600), f"step {i}"))
        own = last[actor]
        minima.append(Constraint(start, 0 if own is None else own, 0))
        other = last[(actor + rng.randrange(1, actors)) % actors] if actors > 1 else None
        if other is not None and rng.random() < 0.3:
            minima.append(Constraint(start, other, 0))
            waits.append((other, start))
        last[actor] = end
    points = 2 * steps + 1
    longest = earliest(Network(points, minima + [Constraint(one.end, one.start, -one.most) for one in links]))
    shortest = earliest(Network(points, minima + [Constraint(one.end, one.start, -one.least) for one in links]))
    assert longest is not None and shortest is not None
    maxima: list[Constraint] = []
    for other, start in rng.sample(waits, min(len(waits), round(share * steps))):
        # If everything starts as soon as may be, the end comes no sooner than with all durations at their least, and
        # the start no later than with all at their most. So much room is always enough.
        late, soon = longest[start], shortest[other]
        assert late is not None and soon is not None
        maxima.append(Constraint(other, start, math.ceil((late - soon) * tight), f"within {start}"))
    if deadlines:
        for end in last:
            late = longest[end] if end is not None else None
            if end is not None and late is not None:
                maxima.append(Constraint(0, end, math.ceil(late * tight), f"by {end}"))
    return Uncertain(points, minima + maxima, links)


def naive(uncertain: Uncertain) -> bool:
    """Whether it is dynamically controllable, by applying the reduction rules of Morris and Muscettola (Temporal
    dynamic controllability revisited, AAAI 2005) to whole tables of distances until nothing changes, each time in
    cubic time. What has ended may be acted upon at the same moment: so a short link counts against less than 0 only."""
    points, links = range(uncertain.points), uncertain.links
    plain = [[0 if i == j else NEVER for j in points] for i in points]  # plain[i][j]: j at most so long after i
    wait: list[list[float]] = [[NEVER] * uncertain.points for _ in links]  # wait[k][i]: i to start of k, till k ends
    for one in uncertain.constraints:
        plain[one.source][one.target] = min(plain[one.source][one.target], one.most)
    for k, link in enumerate(links):
        plain[link.start][link.end] = min(plain[link.start][link.end], link.most)
        plain[link.end][link.start] = min(plain[link.end][link.start], -link.least)
        if link.least < link.most:
            wait[k][link.end] = -link.most
    while True:
        at_most = [row.copy() for row in plain]
        for k, link in enumerate(links):
            for i in points:
                at_most[i][link.start] = min(at_most[i][link.start], wait[k][i])
        if not _closed(at_most):
            return False
        before = ([row.copy() for row in plain], [row.copy() for row in wait])
        if not _closed(plain):
            return False
        for k, link in enumerate(links):
            wait[k] = [min(wait[k][i], min(plain[i][m] + wait[k][m] for m in points)) for i in points]
            for i in points:
                if wait[k][i] >= -link.least:
                    plain[i][link.start] = min(plain[i][link.start], wait[k][i])
        for k, link in enumerate(links):
            if link.least == link.most:
                continue
            for j in points:
                if plain[link.end][j] < 0:
                    plain[link.start][j] = min(plain[link.start][j], link.least + plain[link.end][j])
            for other in range(len(links)):
                if other != k and wait[other][link.end] < 0:
                    wait[other][link.start] = min(wait[other][link.start], link.least + wait[other][link.end])
        if before == (plain, wait):
            return True


def _closed(table: list[list[float]]) -> bool:
    """Shortest ways between all pairs, in place; False as soon as one from a point to itself is below 0."""
    points = range(len(table))
    for m in points:
        through = table[m]
        for row in table:
            first = row[m]
            if first < NEVER:
                for j in points:
                    if first + through[j] < row[j]:
                        row[j] = first + through[j]
        if any(table[i][i] < 0 for i in points):
            return False
    return True


class Ratios(NamedTuple):
    """Seconds of processor time, the least of several runs, and what they are compared with.

    steps: uncontrolled steps. waits: deciding that the network, with windows, is controllable. broken: finding why the
    same with tighter windows is not, None if it is. deadlines: the network without windows, by the linear way;
    times_linear: how many times as long the general algorithm takes for that one. growth: the exponent between half as
    many steps and these. small: how many steps the naive algorithm was given; times_naive: how many times as long it
    took there."""

    steps: int
    waits: float
    broken: float | None
    deadlines: float
    times_linear: float
    growth: float
    small: int
    times_naive: float


def ratios(steps: int = 1_000, small: int = 20, times: int = 3) -> Ratios:
    """Measure once. The verdicts are compared on the way: all algorithms must say the same."""
    network = choreography(steps, actors=3)
    assert conflict_by_waits(network) is None
    waits = best(lambda: conflict_by_waits(network), times)
    half = choreography(steps // 2, actors=3)
    halved = best(lambda: conflict_by_waits(half), times)
    tight = choreography(steps, actors=3, tight=0.5)
    found: Conflict | None = conflict_by_waits(tight)
    plain = choreography(steps, actors=3, share=0.0)
    assert missed_deadline(plain) is None and conflict_by_waits(plain) is None
    linear = best(lambda: missed_deadline(plain), times)
    general = best(lambda: conflict_by_waits(plain), times)
    little = choreography(small, actors=2, share=0.2)
    assert naive(little) == (conflict_by_waits(little) is None)
    return Ratios(
        steps,
        waits,
        None if found is None else best(lambda: conflict_by_waits(tight), times),
        linear,
        general / linear,
        math.log(waits / halved) / math.log(2),
        small,
        best(lambda: naive(little), 1) / best(lambda: conflict_by_waits(little), times),
    )


def best(work: Callable[[], object], times: int) -> float:
    """The least seconds of processor time."""
    least = math.inf
    for _ in range(times):
        gc.collect()
        begun = time.process_time()
        work()
        least = min(least, time.process_time() - begun)
    return least


def table(sizes: tuple[int, ...] = (500, 1_000, 2_000)) -> list[str]:
    """One row a size."""
    lines = ["steps | with windows | not controllable | deadlines only | general for those | growth | naive, small"]
    for size in sizes:
        row = ratios(size)
        broken = "controllable" if row.broken is None else f"{1000 * row.broken:.0f} ms"
        figures = [
            f"{1000 * row.waits:.0f} ms",
            broken,
            f"{1000 * row.deadlines:.1f} ms",
            f"{row.times_linear:.1f} times",
        ]
        figures += [f"{row.growth:.2f}", f"{row.times_naive:.0f} times at {row.small}"]
        lines.append(" | ".join([f"{row.steps:,}", *figures]))
    return lines


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.controllability", description="Controllability.")
    parser.add_argument("--quick", action="store_true", help="without the longest")
    print("\n".join(table((500, 1_000) if parser.parse_args().quick else (500, 1_000, 2_000))))
