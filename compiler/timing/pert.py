"""Classic PERT, as a figure to stand beside a forecast: the one critical path of the expected times, and a normal end.

Each step's mean is (least + 4 likely + most) / 6 and its standard deviation a sixth of the range (Malcolm, Roseboom,
Clark and Fazar 1959). Means and variances are added along the path that is critical when every step takes its mean.
Other paths that are nearly as long are forgotten, so where paths join the end comes out too early, and too certain
(Clark 1961 gives the moments of the later of two).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, sqrt
from statistics import NormalDist
from typing import NamedTuple

from jackstay.timing.sampling_network import Network, Window

Range = tuple[float, float, float]


class Pert(NamedTuple):
    """Seconds. path: the steps on the critical path, in order; mean and spread (one standard deviation) of its end."""

    path: tuple[int, ...]
    mean: float
    spread: float

    def chance(self, by: float) -> float:
        """That the end comes no later than ``by``."""
        if self.spread == 0:
            return 1.0 if self.mean <= by else 0.0
        return NormalDist(self.mean, self.spread).cdf(by)


def mean(bounds: Range) -> float:
    least, likely, most = bounds
    return (least + 4 * likely + most) / 6


def spread(bounds: Range) -> float:
    """The standard deviation of the beta-PERT itself, which is what is drawn: (mean - least) (most - mean) / 7 is its
    variance."""
    middle = mean(bounds)
    return sqrt(max(0.0, (middle - bounds[0]) * (bounds[2] - middle) / 7))


def pert(network: Network, ends: Sequence[int]) -> Pert:
    """The end is the last of some events."""
    at = [0.0] * (2 * network.steps)
    came: dict[int, int] = {}
    for event in network.order:
        step = event >> 1
        when, before = -inf, -1
        if event & 1:
            when, before = at[event - 1] + mean(network.range_of(step)), event - 1
        for source, gap in network.incoming[event]:
            if at[source] + gap > when:
                when, before = at[source] + gap, source
        if not event & 1:
            allowed = lit(max(when, network.floors[step]), network.windows[step], network.range_of(step)[2])
            if allowed > when:
                when, before = allowed, -1
        at[event] = when
        came[event] = before
    last = max(ends, key=lambda event: (at[event], -event), default=-1)
    path: list[int] = []
    event = last
    while event >= 0:
        before = came[event]
        if event & 1 and before == event - 1:
            path.append(event >> 1)
        event = before
    path.reverse()
    variance = sum(((most - least) / 6) ** 2 for least, _, most in map(network.range_of, path))
    return Pert(tuple(path), at[last] if last >= 0 else 0.0, sqrt(variance))


def lit(ready: float, window: Window | None, longest: float) -> float:
    """As `sampling.put_off`, for one number."""
    if window is None or window.dark <= 0:
        return ready
    dark, every, first, daylight = window
    if not daylight:
        if longest > dark:
            return ready
        ready = max(ready, first)
        into = (ready - first) % every
        return ready if into + longest <= dark else ready - into + every
    if longest > every - dark or ready + longest <= first:
        return ready
    if ready < first:
        return first + dark
    into = (ready - first) % every
    if into < dark:
        return ready if into == longest == 0 else ready - into + dark
    return ready if into + longest <= every else ready - into + every + dark
