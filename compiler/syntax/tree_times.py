"""The tree's forms that speak of time, effort and supplies."""

from __future__ import annotations

from jackstay.source.record import Record
from jackstay.syntax.tree_forms import Origin
from jackstay.syntax.values import Formula, Name, Number, Quantity


class EffortDecl(Record):
    """``effort light 200 W``"""

    name: Name
    rate: Formula
    origin: Origin | None = None


class BodyDecl(Record):
    """``body earth radius 6378 km, pull 398600 km^3/s^2``: what an orbit goes round."""

    name: Name
    radius: Formula
    pull: Formula


class Supply(Record):
    """``supply oxygen 0.55 kg, reserve 0.05 kg, drains FORMULA``"""

    name: Name
    amount: Quantity
    reserve: Formula | None = None
    drains: Formula | None = None
    origin: Origin | None = None


class Idle(Record):
    """``idle effort rest``"""

    level: Name


class Brings(Record):
    """``brings suited at 0.1 m/s within 30 min``"""

    kind: Name
    pace: Formula
    within: Formula | None


class Takes(Record):
    """``takes LIKELY``, ``takes LEAST to MOST``, ``takes LIKELY, LEAST to MOST``"""

    value: Formula | None
    least: Formula | None = None
    most: Formula | None = None
    origin: Origin | None = None


class NoFaster(Record):
    """``no faster than FORMULA``: no plan may have it take less."""

    least: Formula


class Expects(Record):
    """``expects LOW to HIGH``: what a reading may be; a plan may want it narrower, not wider."""

    low: Formula
    high: Formula
    origin: Origin | None = None


class Clock(Record):
    origin: str | None  # words after "clock from"
    limit: Formula | None
    reserve: Formula | None
    starts: Name | None = None  # marks
    ends: Name | None = None


class Light(Record):
    """``light dark TIME of every TIME, first at TIME``"""

    dark: Formula
    every: Formula
    first: Formula


class Orbit(Record):
    """``light orbit HEIGHT over BODY, beta ANGLE, first at TIME``"""

    height: Formula
    body: Name
    beta: Formula
    first: Formula


class SlowDay(Record):
    """``slow day 0.2, each 0.1``"""

    run: Number
    each: Number | None


class Together(Record):
    """``finish together within 15 min``"""

    within: Formula


class Begins(Record):
    """``begins 2027-03-02 at 9 h 30 min``"""

    date: Name
    time: Formula
