"""Records of the world that speak of time, effort and supplies."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from jackstay.source.record import Entity
from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.model.records import Dimension, Formula, Kind, Measure, Origin


class Effort(Entity):
    """A word for how hard something is, with the rate that it stands for (of any one dimension)."""

    name: str
    rate: "Measure"
    decl: Span
    origin: "Origin | None" = None


class EffortRate(NamedTuple):
    """``effort`` in a formula: the rate of what the actor is doing now."""

    dimension: "Dimension"


class Supply(NamedTuple):
    """drains: amount a second, or None when nothing is said to use it up."""

    name: str
    amount: "Measure"
    decl: Span
    reserve: "Measure | None" = None
    drains: "Formula | None" = None
    origin: "Origin | None" = None


class Rescue(NamedTuple):
    """Who can be brought in, how fast, and how soon that must be done."""

    kind: "Kind"
    pace: "Measure"
    within: "Measure | None"
    decl: Span


class Body(NamedTuple):
    """What an orbit goes round. radius: length; pull: gravitational parameter, length^3/time^2."""

    name: str
    radius: "Measure"
    pull: "Measure"
    decl: Span


class Light(NamedTuple):
    """dark of every, the first dark from ``first`` after the start; dark may be nothing at all."""

    dark: "Measure"
    every: "Measure"
    first: "Measure"
    at: Span


class SlowDay(NamedTuple):
    """Shares of the spread that are common to the whole run, and to each actor; together less than 1."""

    run: Fraction
    each: Fraction
    at: Span


class Together(NamedTuple):
    """Those of the crew who go outside end within this of each other."""

    within: "Measure"
    at: Span


class Begins(NamedTuple):
    """date: ISO. time: seconds after midnight."""

    date: str
    time: Fraction
    at: Span
