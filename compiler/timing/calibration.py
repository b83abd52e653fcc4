"""Three-point durations from how long a step took in rehearsals.

From the mean and the standard deviation of its runs, and from how the longest and the shortest stand to the mean: the
beta-PERT with this mean, this variance (widened, as the mean of few runs is itself uncertain) and this lean. Its ends
are moved out to hold every run. With fewer than `FEWEST` runs nothing is proposed. Runs that are all equal give what
may hide in their reading: half a minute each way where it is in whole minutes.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor, sqrt
from statistics import fmean, stdev
from typing import NamedTuple

FEWEST = 3
LEAN = 5.0  # a beta-PERT's far end is at most five times as far from its mean as its near end


class Fit(NamedTuple):
    """Minutes. least, likely, most: rounded outwards to what a plan would write. mean, error: of the runs, and the
    standard error of that mean. runs: how many."""

    least: float
    likely: float
    most: float
    mean: float
    error: float
    runs: int


def fit(minutes: Sequence[float]) -> Fit | None:
    """The proposal for a step that took so long in each of its runs; all above nothing. None: too few."""
    runs = len(minutes)
    if runs < FEWEST:
        return None
    mean, spread = fmean(minutes), stdev(minutes)
    error = spread / sqrt(runs)
    low, high = min(minutes), max(minutes)
    if high - low <= 1e-9 * high:
        grid = grid_of(high)
        near = max(grid, round(mean / grid) * grid)
        read = 0.5 if near == round(near) else grid  # equal runs say no more than the clock that they were read from
        return Fit(near - read if near > read else grid, near, near + read, mean, 0.0, runs)
    # variance of a beta-PERT: (mean - least) (most - mean) / 7; a new run strays from the mean of the old ones by more
    wide = spread * sqrt(1 + 1 / runs)
    lean = min(max((high - mean) / (mean - low), 1 / LEAN), LEAN)
    least = max(min(mean - wide * sqrt(7 / lean), low), 0.0)
    most = max(mean + wide * sqrt(7 * lean), high)
    likely = min(max((6 * mean - least - most) / 4, least), most)
    return Fit(*_written(least, likely, most), mean, error, runs)


def grid_of(minutes: float) -> float:
    """What minutes are rounded to: half ones; tenths where even the longest is under five."""
    return 0.1 if minutes < 5 else 0.5


def _written(least: float, likely: float, most: float) -> tuple[float, float, float]:
    grid = grid_of(most)
    low = max(grid, floor(least / grid + 1e-6) * grid)
    high = max(low, ceil(most / grid - 1e-6) * grid)
    near = min(max(round(likely / grid) * grid, low), high)
    return low, near, high


def written(one: Fit) -> str:
    """The bracket of a plan: ``[12 min, 9 to 20]``."""
    least, likely, most = (_number(part) for part in one[:3])
    return f"[{likely} min, {least} to {most}]"


def _number(minutes: float) -> str:
    return f"{minutes:.1f}".removesuffix(".0")
