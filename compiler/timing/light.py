"""Day and night as a cycle: when a step that needs one or the other may start.

All numbers in one unit (ticks of an `EventGraph`, or seconds). It is light until ``first``; from then on each ``every``
begins with ``dark`` of darkness. A stretch counts with both its ends, so a step may end just as the light changes.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple, TypeVar

N = TypeVar("N", int, Fraction)

DAYLIGHT, DARK = "daylight", "dark"


class Cycle(NamedTuple):
    """dark of every, first at: as in the plan's ``light`` line."""

    dark: int
    every: int
    first: int

    @property
    def endless(self) -> bool:
        """It never gets light again once it is dark."""
        return self.dark >= self.every

    def longest(self, word: str) -> int | None:
        """The longest stretch of light or dark that comes again and again. None: without end."""
        if word == DAYLIGHT:
            return None if self.dark <= 0 else max(0, self.every - self.dark)
        return None if self.endless and self.dark > 0 else max(0, self.dark)

    def earliest(self, ready: int, length: int, word: str) -> int | None:
        """The first moment from ``ready`` on at which a step of that length fits into one stretch. None: never."""
        return self._daylight(ready, length) if word == DAYLIGHT else self._in_dark(ready, length)

    def _daylight(self, ready: int, length: int) -> int | None:
        if self.dark <= 0 or ready + length <= self.first:
            return ready
        if length > self.every - self.dark or self.endless:
            return None
        if ready < self.first:
            return self.first + self.dark
        into = (ready - self.first) % self.every
        if into < self.dark:
            return ready if into == 0 and length == 0 else ready - into + self.dark
        return ready if into + length <= self.every else ready - into + self.every + self.dark

    def _in_dark(self, ready: int, length: int) -> int | None:
        if self.dark <= 0:
            return None
        ready = max(ready, self.first)
        if self.endless:
            return ready
        if length > self.dark:
            return None
        into = (ready - self.first) % self.every
        return ready if into + length <= self.dark else ready - into + self.every

    def latest(self, by: int, length: int, word: str) -> int | None:
        """The last moment up to ``by`` at which a step of that length fits into one stretch. None: there is none."""
        if word == DAYLIGHT:
            return self._daylight_until(by, length)
        if self.dark <= 0 or by < self.first:
            return None
        if self.endless:
            return by
        if length > self.dark:
            return None
        into = (by - self.first) % self.every
        return by if into + length <= self.dark else by - into + self.dark - length

    def _daylight_until(self, by: int, length: int) -> int | None:
        if self.dark <= 0 or by + length <= self.first:
            return by
        before = self.first - length if self.first >= length else None
        if by < self.first or length > self.every - self.dark or self.endless:
            return before
        into = (by - self.first) % self.every
        if into < self.dark:
            return before if by - into == self.first else by - into - length
        return by if into + length <= self.every else by - into + self.every - length
