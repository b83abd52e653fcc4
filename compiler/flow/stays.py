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

    "Before" is a partial order, so this is the weighted form of Dilworth's theorem. Those that a stay is before are,
    per actor, all whose start has counted more of that actor's steps than a number: no pair of stays is looked at
    singly. A search takes O(stays x actors); what a first pass in order has joined needs none."""
    unit = lcm(*(s.weight.denominator for s in stays))  # weights in whole multiples of 1 / unit: as exact, and quick
    weights = [s.weight.numerator * (unit // s.weight.denominator) for s in stays]
    net = _Net(stays, weights)
    net.join_in_order()
    while net.join_one():
        pass
    chosen = [s for i, s in enumerate(stays) if i in net.left_seen and i not in net.right_seen]
    return Fraction(sum(weights) - net.joined, unit), chosen


class _Net:
    """Stays joined to later ones, each with its weight on either side. supply: what a stay's end may still join;
    demand: what its start may. into[j]: i -> how much of stay i is joined to stay j."""

    def __init__(self, stays: list[Stay], weights: list[int]) -> None:
        self.supply = list(weights)
        self.demand = list(weights)
        self.into: list[dict[int, int]] = [{} for _ in stays]
        self.joined = 0
        self.ends = [s.end.positions[0] if s.end is not None else None for s in stays]
        self.columns = sorted({end[0] for end in self.ends if end is not None})
        self.begun = {j: s.start.clock for j, s in enumerate(stays) if s.start is not None}
        in_text = {j: s.start.index for j, s in enumerate(stays) if s.start is not None}
        self.order = sorted(self.begun, key=lambda j: in_text[j])
        # per column: starts, those after most of its steps first
        self.starts = {c: sorted(self.begun, key=lambda j: -self.begun[j][c]) for c in self.columns}
        self.left_seen: set[int] = set()
        self.right_seen: set[int] = set()

    def join_in_order(self) -> None:
        """Each start takes from the earliest ends before it. Nearly always the most there is."""
        ends: dict[int, list[int]] = {c: [] for c in self.columns}
        for i, end in enumerate(self.ends):
            if end is not None:
                ends[end[0]].append(i)
        for c in self.columns:
            ends[c].sort(key=lambda i: -self.ends[i][1])  # type: ignore[index]
        for j in self.order:
            for c in self.columns:
                left = ends[c]
                while self.demand[j] and left and self.begun[j][c] > self.ends[left[-1]][1]:  # type: ignore[index]
                    i = left[-1]
                    self._join(i, j, min(self.supply[i], self.demand[j]))
                    if not self.supply[i]:
                        left.pop()

    def _join(self, i: int, j: int, much: int) -> None:
        self.supply[i] -= much
        self.demand[j] -= much
        self.joined += much
        self.into[j][i] = self.into[j].get(i, 0) + much

    def join_one(self) -> bool:
        """Breadth-first from all that is left over to a start that lacks something, by way of joins undone. When there
        is none, what was seen on the left and not on the right is a heaviest set."""
        came: dict[int, int] = {}  # start -> the end that reached it
        back: dict[int, int] = {}  # end -> the start whose join to it would be undone
        queue = [i for i, left in enumerate(self.supply) if left]
        self.left_seen = set(queue)
        at = dict.fromkeys(self.columns, 0)  # per column: how many of its starts have been seen
        for i in queue:
            end = self.ends[i]
            if end is None:
                continue
            column, position = end
            starts, k = self.starts[column], at[column]
            while k < len(starts) and self.begun[starts[k]][column] > position:
                j = starts[k]
                k += 1
                if j in came:
                    continue
                came[j] = i
                if self.demand[j]:
                    self._along(j, came, back)
                    return True
                for other in self.into[j]:
                    if other not in self.left_seen:
                        self.left_seen.add(other)
                        back[other] = j
                        queue.append(other)
            at[column] = k
        self.right_seen = set(came)
        return False

    def _along(self, last: int, came: dict[int, int], back: dict[int, int]) -> None:
        path = [(came[last], last)]
        while path[-1][0] in back:
            j = back[path[-1][0]]
            path.append((came[j], j))
        undone = list(zip((i for i, _ in path), (j for _, j in path[1:]), strict=False))
        much = min(self.demand[last], self.supply[path[-1][0]], *(self.into[j][i] for i, j in undone))
        for i, j in undone:
            self.into[j][i] -= much
            if not self.into[j][i]:
                del self.into[j][i]
        for i, j in path:
            self.into[j][i] = self.into[j].get(i, 0) + much
        self.supply[path[-1][0]] -= much
        self.demand[last] -= much
        self.joined += much
