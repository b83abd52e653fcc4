"""Networks for the tests of sampling: chains and random orders, written as plain numbers."""

from __future__ import annotations

import random
from collections.abc import Sequence

from jackstay.timing.sampling import Target
from jackstay.timing.sampling_network import Network, Window, key_of

Range = tuple[float, float, float]


def network(
    ranges: Sequence[Range],
    before: Sequence[Sequence[int]],
    beside: Sequence[tuple[int, int]] = (),
    floors: dict[int, float] | None = None,
    windows: dict[int, Window] | None = None,
    lead: Sequence[str] | None = None,
) -> Network:
    """Steps in an order in which each comes after what it waits for; of ``beside`` (inner, outer) the outer first."""
    count = len(ranges)
    incoming: list[list[tuple[int, float]]] = [[] for _ in range(2 * count)]
    for step, others in enumerate(before):
        incoming[2 * step] += [(2 * other + 1, 0.0) for other in others]
    for inner, outer in beside:
        incoming[2 * inner].append((2 * outer, 0.0))
        incoming[2 * outer + 1].append((2 * inner + 1, 0.0))
    return Network(
        "one",
        tuple(_order(count, incoming)),
        tuple(map(tuple, incoming)),
        tuple(ranges),
        tuple((floors or {}).get(step, 0.0) for step in range(count)),
        tuple((windows or {}).get(step) for step in range(count)),
        tuple(lead) if lead is not None else ("a",) * count,
        tuple(key_of(f"step {step}") for step in range(count)),
    )


def _order(count: int, incoming: list[list[tuple[int, float]]]) -> list[int]:
    done: list[int] = []
    seen: set[int] = set()
    while len(done) < 2 * count:
        for event in range(2 * count):
            sources = [source for source, _ in incoming[event]] + ([event - 1] if event & 1 else [])
            if event not in seen and seen.issuperset(sources):
                done.append(event)
                seen.add(event)
    return done


def chain(ranges: Sequence[Range], lead: Sequence[str] | None = None) -> Network:
    return network(ranges, [[step - 1] if step else [] for step in range(len(ranges))], lead=lead)


def ends(net: Network) -> Target:
    used = {source for incoming in net.incoming for source, _ in incoming}
    return Target(tuple((event, 0.0) for event in range(1, 2 * net.steps, 2) if event not in used))


def random_network(seed: int, steps: int) -> Network:
    """With joins, floors, steps beside others, needs for daylight and for dark."""
    rng = random.Random(seed)
    ranges: list[Range] = []
    before: list[list[int]] = []
    beside: list[tuple[int, int]] = []
    floors: dict[int, float] = {}
    windows: dict[int, Window] = {}
    for step in range(steps):
        least = rng.uniform(60, 900)
        likely = least * rng.uniform(1, 1.5)
        ranges.append((least, likely, likely * rng.uniform(1, 1.8)))
        if rng.random() < 0.1:
            ranges[-1] = (least, least, least)
        before.append(sorted(rng.sample(range(step), min(step, rng.randint(0, 3)))))
        if step and rng.random() < 0.15 and not any(step - 1 in pair for pair in beside):
            beside.append((step, step - 1))
            before[step] = []
        if rng.random() < 0.15:
            floors[step] = rng.uniform(0, 4000)
        if rng.random() < 0.2:
            windows[step] = Window(2700.0, 7080.0, rng.choice([0.0, 720.0, 9000.0]), rng.random() < 0.7)
    return network(ranges, before, beside, floors, windows, [rng.choice("abc") for _ in ranges])
