"""Where moments stand along a crew timeline: to scale, but for moments at which steps take no time that is known.

Such steps stand beside one another in a widened moment, in the order they are done in, so that each can be seen.
Positions are points from the beginning of the excursion; sheets are windows of one width along them."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from fractions import Fraction
from itertools import accumulate
from math import ceil
from statistics import median

from jackstay.flow.records import Step
from jackstay.outputs.views import View, is_idle
from jackstay.timing.records import Times
from jackstay.timing.schedule import own_predecessors

PIN = 16.0  # for a step that takes no time; wider where nothing takes any
WIDE_PIN = 90.0
USUAL = 17.0  # a written step of middling length gets at least this
TICKS = (1, 2, 5, 10, 15, 20, 30, 60, 120, 240, 480, 1440)  # minutes
MINUTE = 60


class Axis:
    """scale: points a second. sheets: how many windows of ``width`` points there are."""

    def __init__(self, view: View, times: Times, width: float, least_sheets: int = 1) -> None:
        self.times = times
        self.width = width
        self.level = _levels(view, times)
        deep: dict[Fraction, int] = {}
        for step, level in self.level.items():
            deep[times.start[step]] = max(deep.get(times.start[step], 0), level)
        self._at = sorted(deep)
        pins = sum(deep.values())
        wanted = float(times.makespan) * _scale(view, times) + pins * PIN
        self.sheets = max(ceil(wanted / width - 0.001), least_sheets, 1)
        self.pin = PIN
        if pins and not times.makespan:
            self.pin = max(PIN, min(self.sheets * width / pins, WIDE_PIN))
            self.sheets = max(ceil(pins * self.pin / width - 0.001), 1)
        self._sums = [0.0, *accumulate(deep[at] * self.pin for at in self._at)]
        spare = self.sheets * width - self._sums[-1]
        self.scale = spare / float(times.makespan) if times.makespan else 0.0

    def left(self, at: Fraction) -> float:
        """A moment, before any of its steps without a length."""
        return float(at) * self.scale + self._sums[bisect_left(self._at, at)]

    def right(self, at: Fraction) -> float:
        return float(at) * self.scale + self._sums[bisect_right(self._at, at)]

    def span(self, step: Step) -> tuple[float, float]:
        start, end = self.times.start[step.index], self.times.end[step.index]
        level = self.level.get(step.index)
        if level is not None:
            left = self.left(start) + (level - 1) * self.pin
            return left + 1, left + self.pin - 1
        if start == end:
            return self.right(start), self.right(start)
        return self.right(start), self.left(end)

    def after(self, step: Step) -> float:
        """Where a step is over."""
        return self.span(step)[1]

    def window(self, number: int) -> tuple[float, float]:
        """Of a sheet, counted from 0."""
        return number * self.width, (number + 1) * self.width

    def when(self, position: float) -> Fraction:
        """The moment at a position, to the second."""
        low, high = 0, int(self.times.makespan) + 1
        while low < high:
            middle = (low + high) // 2
            if self.right(Fraction(middle)) < position - 0.01:
                low = middle + 1
            else:
                high = middle
        return min(Fraction(low), self.times.makespan)

    def widened(self) -> Iterator[tuple[float, float]]:
        """The moments that are not to scale."""
        for at in self._at:
            yield self.left(at), self.right(at)

    def ticks(self, apart: float, zero: Fraction = Fraction(0)) -> Iterator[Fraction]:
        """Round moments, counted from ``zero``, up to the end, so many points apart at least."""
        if not self.scale:
            yield zero
            return
        minutes = next((one for one in TICKS if one * MINUTE * self.scale >= apart), TICKS[-1])
        at = zero
        while at <= self.times.makespan:
            yield at
            at += minutes * MINUTE


def _scale(view: View, times: Times) -> float:
    lengths = [
        float(times.end[step.index] - times.start[step.index])
        for step in view.flow.steps
        if not step.inserted and times.end[step.index] > times.start[step.index]
    ]
    return USUAL / median(lengths) if lengths else 0.0


def _levels(view: View, times: Times) -> dict[int, int]:
    """For each step that takes no time, how many of these are done one after the other at its moment, with itself."""
    own = own_predecessors(view.flow)
    found: dict[int, int] = {}
    depth: dict[int, int] = {}
    for step in view.flow.steps:
        i = step.index
        if times.start[i] != times.end[i]:
            continue
        before = {*view.flow.predecessors[i], *own[i].values()}
        depth[i] = max((depth.get(p, 0) for p in before if times.end[p] == times.start[i]), default=0)
        if not is_idle(step):
            depth[i] += 1
            found[i] = depth[i]
    return found
