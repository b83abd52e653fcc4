"""Aligning two lists: the longest common subsequence, and the longest run that keeps its order."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence
from typing import Any

_LARGEST = 4_000_000  # cells of the table; beyond, equal keys are paired in order and the longest run of them is kept


Weight = Callable[[Any, Any], int]


def same(one: Hashable, other: Hashable) -> int:
    return one == other


def common(old: Sequence[Hashable], new: Sequence[Hashable], weight: Weight = same) -> list[tuple[int, int]]:
    """Pairs of indices, both ascending, of the greatest weight together. weight: of a pair, 0 for what is no pair, and
    the most for equals."""
    first, last = 0, 0
    shorter = min(len(old), len(new))
    while first < shorter and old[first] == new[first]:
        first += 1
    while last < shorter - first and old[-1 - last] == new[-1 - last]:
        last += 1
    middle = _middle(old[first : len(old) - last], new[first : len(new) - last], weight)
    pairs = [(at, at) for at in range(first)] + [(i + first, j + first) for i, j in middle]
    return pairs + [(len(old) - at, len(new) - at) for at in range(last, 0, -1)]


def _middle(old: Sequence[Hashable], new: Sequence[Hashable], weight: Weight) -> list[tuple[int, int]]:
    if not old or not new:
        return []
    if len(old) * len(new) > _LARGEST:
        pairs = in_turn(old, new)
        return [pairs[at] for at in longest_run([j for _, j in pairs])]
    width = len(new) + 1
    table = [[0] * width for _ in range(len(old) + 1)]
    for i in range(len(old) - 1, -1, -1):
        row, below = table[i], table[i + 1]
        for j in range(len(new) - 1, -1, -1):
            best = max(below[j], row[j + 1])
            own = weight(old[i], new[j])
            row[j] = max(best, below[j + 1] + own) if own else best
    found, i, j = [], 0, 0
    while i < len(old) and j < len(new):
        own = weight(old[i], new[j])
        if own and table[i][j] == table[i + 1][j + 1] + own:
            found.append((i, j))
            i, j = i + 1, j + 1
        elif table[i + 1][j] >= table[i][j + 1]:
            i += 1
        else:
            j += 1
    return found


def in_turn(old: Sequence[Hashable], new: Sequence[Hashable]) -> list[tuple[int, int]]:
    """The first of each key with the first, the second with the second, …; by the old index."""
    places: defaultdict[Hashable, list[int]] = defaultdict(list)
    for j, key in enumerate(new):
        places[key].append(j)
    used: defaultdict[Hashable, int] = defaultdict(int)
    found = []
    for i, key in enumerate(old):
        if used[key] < len(places[key]):
            found.append((i, places[key][used[key]]))
            used[key] += 1
    return found


def longest_run(values: Sequence[int]) -> list[int]:
    """Indices of a longest ascending subsequence of different numbers."""
    tails: list[int] = []  # the value that a run of each length ends with, at least
    at: list[int] = []
    before: list[int] = []
    for index, value in enumerate(values):
        length = bisect_left(tails, value)
        before.append(at[length - 1] if length else -1)
        if length == len(tails):
            tails.append(value)
            at.append(index)
        else:
            tails[length], at[length] = value, index
    found: list[int] = []
    index = at[-1] if at else -1
    while index >= 0:
        found.append(index)
        index = before[index]
    return found[::-1]
