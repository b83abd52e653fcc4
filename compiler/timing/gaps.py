"""How far apart the nominal times keep what the text does not order: the minutes that only luck protects.

The figure is the start of the later less the end of the earlier. Where a time is only a lower bound, nothing is said.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from jackstay.timing.records import Times

MINUTE = 60


class Apart(NamedTuple):
    """order: 1, the first step is over before the second begins; -1, the other way round; 0, they overlap.

    seconds: between the end of the one and the start of the other; of an overlap, how long it lasts."""

    order: int
    seconds: Fraction


def between(times: Times, first: int, second: int) -> Apart | None:
    """Two steps of one excursion, by index. None: some duration that it hangs on is missing."""
    for one, other, order in ((first, second, 1), (second, first, -1)):
        if not (times.end_open[one] or times.start_open[other]) and times.start[other] >= times.end[one]:
            return Apart(order, times.start[other] - times.end[one])
    if any(times.start_open[i] or times.end_open[i] for i in (first, second)):
        return None
    return Apart(0, min(times.end[first], times.end[second]) - max(times.start[first], times.start[second]))


def together(times: Times, stretches: Iterable[tuple[int | None, int | None]]) -> Fraction | None:
    """Stretches from the start of one step (None: from the beginning) to the end of another (None: for good). Seconds
    from when the first of them is over until the last begins; below nothing where all meet, by how long they do."""
    starts: list[Fraction] = []
    ends: list[Fraction] = []
    for begun, over in stretches:
        if begun is not None:
            if times.start_open[begun]:
                return None
            starts.append(times.start[begun])
        if over is not None:
            if times.end_open[over]:
                return None
            ends.append(times.end[over])
    return max(starts) - min(ends) if starts and ends else None


def minutes(seconds: Fraction) -> str:
    """``12 min``, ``1.2 min``; half a tenth is rounded up."""
    tenths = int(seconds / MINUTE * 10 + Fraction(1, 2))
    if tenths == 0 and seconds > 0:
        return "< 0.1 min"
    return f"{tenths // 10} min" if tenths % 10 == 0 else f"{tenths // 10}.{tenths % 10} min"
