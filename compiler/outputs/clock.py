"""Times and durations as they are printed. Exact fractions of seconds in, words out."""

from __future__ import annotations

from fractions import Fraction

from jackstay.timing import gaps

MINUTE = 60
LEGEND = (
    "Times are h:mm, the whole minutes begun since the excursion's start; durations are rounded to 0.1 min. "
    "Every step starts as early as the order, `not before`, the light and `within` allow. "
    "'+' after a time: at least that, because a step before it has no duration; '~' before a length: for the same "
    "reason it may turn out longer or shorter."
)


def clock(seconds: Fraction, at_least: bool = False) -> str:
    """``1:07``, whole minutes begun; ``1:07+`` for a lower bound."""
    minutes = int(seconds // MINUTE)
    return f"{minutes // 60}:{minutes % 60:02d}{'+' if at_least else ''}"


def total(seconds: Fraction, at_least: bool = False) -> str:
    """As `clock`, but a begun minute counts whole: for what must fit into a limit."""
    return clock(Fraction(-(-seconds // MINUTE) * MINUTE), at_least)


def minutes(seconds: Fraction | None) -> str:
    """``12 min``, ``1.2 min``; half a tenth is rounded up. ``no duration`` where there is none."""
    return "no duration" if seconds is None else gaps.minutes(seconds)


def about(seconds: Fraction, vague: bool) -> str:
    """As `minutes`, marked where the ends of the stretch are lower bounds and its length is not even that."""
    return f"{'~' if vague else ''}{minutes(seconds)}"


def bare(seconds: Fraction) -> int | str:
    """For data: whole seconds as a number, anything finer as an exact fraction in words (``370/3``)."""
    return int(seconds) if seconds.denominator == 1 else f"{seconds.numerator}/{seconds.denominator}"
