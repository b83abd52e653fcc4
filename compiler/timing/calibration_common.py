"""How much of the spread a run has in common, from repeated rehearsals: `slow day R, each E`, with a band.

Each record is log(minutes), less the step's mean over its runs, in units of the step's own standard deviation: what
is left of log(actual / likely) when every step has its own centre and its own spread. A nested analysis of variance
(runs; actors within a run; steps within an actor's run; by unweighted means, Searle, Casella and McCulloch 1992)
splits it: the variance of runs is the share common to a run, that of an actor's mean within a run the share common to
what the actor does. The bands hold the sum of squares of runs, or of actors, to the chi-squared distribution of its
degrees of freedom.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, inf, lgamma, log
from statistics import fmean, harmonic_mean, stdev, variance
from typing import NamedTuple

ENOUGH_RUNS = 6  # with fewer, a band and no number
SURE = 0.9  # of the band
_STEADY = 1e-6  # log minutes: a step that varies less than this has no spread to share


class Record(NamedTuple):
    """step: who is alike over the runs. actor: whose day it shares."""

    step: str
    actor: str
    run: str
    minutes: float


class Share(NamedTuple):
    """A share of the spread from 0 to 1, and the band that it is in with the chance `SURE`."""

    value: float
    low: float
    high: float


class Common(NamedTuple):
    """runs, steps: that could be used. run: None where fewer than two runs or two steps can be compared. each: None
    where no run has two actors, or none of them two steps."""

    runs: int
    steps: int
    run: Share | None
    each: Share | None

    @property
    def enough(self) -> bool:
        return self.runs >= ENOUGH_RUNS


def common(records: Sequence[Record]) -> Common:
    """Records of one excursion; a step is used that was done in at least three runs and varied."""
    cells, steps = _cells(records)
    runs = sorted({run for run, _ in cells})
    if len(runs) < 2 or len(steps) < 2:
        return Common(len(runs), len(steps), None, None)
    by_run = {run: {actor: values for (r, actor), values in cells.items() if r == run} for run in runs}
    within = [(variance(values), len(values) - 1) for values in cells.values() if len(values) > 1]
    loose = sum(weight for _, weight in within)
    # each step's own mean has been taken off: of so many runs, one is used up
    rest = sum(value * weight for value, weight in within) / loose * _freed(len(runs)) if loose else None
    means = {run: [fmean(values) for values in actors.values()] for run, actors in by_run.items()}
    actors = max(len(found) for found in means.values())
    size = harmonic_mean([len(values) for values in cells.values()])
    centre = [fmean(found) for found in means.values()]
    between = variance(centre)
    crews = harmonic_mean([len(found) for found in means.values()])
    several = [found for found in means.values() if len(found) > 1]
    if actors > 1 and several:
        spread = fmean([variance(found) for found in several]) * _freed(len(runs))
        freedom = max(1, (len(runs) - 1) * (round(crews) - 1))
    else:
        spread, freedom = (rest or 0.0) / size, 0
    run = _share(between, len(runs) - 1, spread / crews)
    each = _share(spread, freedom, rest / size) if freedom and rest is not None else None
    return Common(len(runs), len(steps), run, each)


def _freed(runs: int) -> float:
    """Deviations within a run from means over runs are smaller than from true ones, by this much in the square."""
    return runs / (runs - 1)


def _cells(records: Sequence[Record]) -> tuple[dict[tuple[str, str], list[float]], list[str]]:
    """Standardised values by (run, actor), and the steps they are of."""
    steps: dict[str, list[Record]] = {}
    for record in records:
        steps.setdefault(record.step, []).append(record)
    cells: dict[tuple[str, str], list[float]] = {}
    used = []
    for step, found in steps.items():
        values = [log(record.minutes) for record in found]
        if len(values) < 3 or (spread := stdev(values)) < _STEADY:
            continue
        used.append(step)
        centre = fmean(values)
        for record, value in zip(found, values, strict=True):
            cells.setdefault((record.run, record.actor), []).append((value - centre) / spread)
    return cells, used


def _share(square: float, freedom: int, noise: float) -> Share:
    """A component of variance from its mean square less what noise adds to it."""
    tail = (1 - SURE) / 2
    low = square * freedom / chi_squared(freedom, 1 - tail) - noise
    below = chi_squared(freedom, tail)
    high = square * freedom / below - noise if below > 0 else inf
    return Share(*(min(max(one, 0.0), 1.0) for one in (square - noise, low, high)))


def chi_squared(freedom: int, chance: float) -> float:
    """The quantile of the chi-squared distribution, by halving."""
    low, high = 0.0, 1.0
    while _below(freedom / 2, high / 2) < chance:
        high *= 2
    for _ in range(80):
        middle = (low + high) / 2
        if _below(freedom / 2, middle / 2) < chance:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _below(a: float, x: float) -> float:
    """The regularised lower incomplete gamma function, by its series."""
    if x <= 0:
        return 0.0
    term = total = 1 / a
    k = a
    while term > total * 1e-15:
        k += 1
        term *= x / k
        total += term
    return total * exp(-x + a * log(x) - lgamma(a))
