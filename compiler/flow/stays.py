"""Stays: how long a fact holds, whatever the timing.

A stay runs from the start of the step that makes a fact (None: from the beginning) to the end of the step that unmakes
it (None: for good). Two stays are apart iff the unmaking step of one happens before the making step of the other.
Facts of several stays can meet iff one stay of each can be chosen pairwise not apart (conjunctive predicates: Garg and
Waldecker, 1994); how many can meet at once is the heaviest set of pairwise not apart stays (Dilworth, 1950).
"""

from __future__ import annotations

import itertools
from fractions import Fraction
from math import lcm
from typing import Any, NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import Step


class Stay(NamedTuple):
    start: Step | None
    end: Step | None
    thing: Any = None
    weight: Fraction = Fraction(1)


def before(a: Stay, b: Stay) -> bool:
    """Whether a is surely over when b begins."""
    return a.end is not None and b.start is not None and happens_before(a.end, b.start)


def apart(a: Stay, b: Stay) -> bool:
    return before(a, b) or before(b, a)


def ordered(stays: list[Stay]) -> bool:
    """Whether each stay is surely over when the next begins: then they are one chain."""
    return all(before(a, b) for a, b in itertools.pairwise(stays))


def meet(chains: list[list[Stay]]) -> list[Stay] | None:
    """One stay of each chain, pairwise not apart; None if there is none. Chains are `ordered`.

    The earlier of two apart stays can meet no later stay of the other chain: drop it. O(chains^2 x stays)."""
    at = [0] * len(chains)
    if any(not chain for chain in chains):
        return None
    moved = True
    while moved:
        moved = False
        for i in range(len(chains)):
            for j in range(len(chains)):
                while i != j and before(chains[i][at[i]], chains[j][at[j]]):
                    at[i] += 1
                    moved = True
                    if at[i] == len(chains[i]):
                        return None
    return [chain[k] for chain, k in zip(chains, at, strict=True)]


def heaviest(stays: list[Stay]) -> tuple[Fraction, list[Stay]]:
    """The greatest weight of pairwise not apart stays, and such a set: total weight less a maximum flow over "before".

    "Before" is a partial order, so this is the weighted form of Dilworth's theorem. O(n^3) at worst; n is small."""
    n = len(stays)
    source, sink = 2 * n, 2 * n + 1
    capacity: list[dict[int, int]] = [{} for _ in range(2 * n + 2)]
    unit = lcm(*(s.weight.denominator for s in stays))  # weights in whole multiples of 1 / unit: as exact, and quick
    weights = [s.weight.numerator * (unit // s.weight.denominator) for s in stays]
    total = sum(weights)
    for i, stay in enumerate(stays):
        capacity[source][i] = weights[i]
        capacity[n + i][sink] = weights[i]
        capacity[i][source] = capacity[sink][n + i] = 0
        for j, other in enumerate(stays):
            if i != j and before(stay, other):
                capacity[i][n + j] = total
                capacity[n + j].setdefault(i, 0)
    flow = 0
    while True:
        came: dict[int, int] = {source: source}
        queue = [source]
        for node in queue:
            for onward, room in capacity[node].items():
                if room > 0 and onward not in came:
                    came[onward] = node
                    queue.append(onward)
            if sink in came:
                break
        if sink not in came:
            break
        nodes = [sink]
        while nodes[-1] != source:
            nodes.append(came[nodes[-1]])
        nodes.reverse()
        edges = list(itertools.pairwise(nodes))
        most = min(capacity[x][y] for x, y in edges)
        for x, y in edges:
            capacity[x][y] -= most
            capacity[y][x] += most
        flow += most
    chosen = [s for i, s in enumerate(stays) if i in came and n + i not in came]
    return Fraction(total - flow, unit), chosen
