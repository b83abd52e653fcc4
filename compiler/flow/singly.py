"""``nobody of KIND`` thing by thing. That one comes only after another has gone may be so in one timing and not in
another: a literal about all of a kind is followed as one literal for each, and they meet like any others."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from typing import Any, NamedTuple

from jackstay.flow.stays import Stay, before
from jackstay.flow.tests import Judge
from jackstay.model.records import Quantified, Slot, Test, Thing


class Singly(NamedTuple):
    """tests: with a literal for each thing in place of one about all. of: for each, which literal it is from."""

    tests: tuple[Test, ...]
    of: tuple[int, ...]


def singly(
    tests: tuple[Test, ...], binding: tuple[Any, ...], judge: Judge, ever_on: Callable[[Thing], set[Thing]]
) -> Singly | None:
    """None: no literal speaks of all of a kind, or each of those of one thing only."""
    out: list[Test] = []
    of: list[int] = []
    for number, test in enumerate(tests):
        parts = _each(test, binding, judge, ever_on)
        out += parts
        of += [number] * len(parts)
    return Singly(tuple(out), tuple(of)) if len(out) > len(tests) else None


def _each(test: Test, binding: tuple[Any, ...], judge: Judge, ever_on: Callable[[Thing], set[Thing]]) -> list[Test]:
    first = isinstance(test.a, Quantified)
    quant, other = (test.a, test.b) if first else (test.b, test.a)
    if not isinstance(quant, Quantified) or quant.quant == "some" or isinstance(other, Quantified):
        return [test]
    things = judge.among(quant)
    none = quant.quant == "none"
    holder = binding[other.index] if isinstance(other, Slot) else other
    if first and none and not test.negated and test.op in ("attached", "to", "from") and isinstance(holder, Thing):
        on = ever_on(holder)
        things = [thing for thing in things if thing in on]  # of the others it is never so
    if len(things) < 2:
        return [test]
    plain = test._replace(negated=test.negated != none)
    return [plain._replace(a=thing) if first else plain._replace(b=thing) for thing in things]


def meet_singly(chains: list[list[Stay]], of: tuple[int, ...]) -> list[Stay] | None:
    """`stays.meet`, where a step that ends one thing's stay and begins another's of the same literal parts the two: it
    has put one in the other's place, and between the two nothing can be seen."""
    at = [0] * len(chains)
    if any(not chain for chain in chains):
        return None

    def over(i: int, j: int) -> bool:
        one, other = chains[i][at[i]], chains[j][at[j]]
        swapped = of[i] == of[j] and one.end is not None and one.end is other.start
        return i != j and (swapped or before(one, other))

    moved = True
    while moved:
        moved = False
        for i, j in product(range(len(chains)), repeat=2):
            while over(i, j):
                at[i] += 1
                moved = True
                if at[i] == len(chains[i]):
                    return None
    return [chain[k] for chain, k in zip(chains, at, strict=True)]


def together(stays: list[Stay], of: tuple[int, ...]) -> list[Stay]:
    """For each literal as it is written the stay in which those of its things meet, in the order of the replay."""
    out = []
    for number in dict.fromkeys(of):
        own = [stay for stay, one in zip(stays, of, strict=True) if one == number]
        starts = [stay.start for stay in own if stay.start is not None]
        ends = [stay.end for stay in own if stay.end is not None]
        start = max(starts, key=lambda step: step.index, default=None)
        out.append(Stay(start, min(ends, key=lambda step: step.index, default=None), own[0].thing, own[0].weight))
    return out
