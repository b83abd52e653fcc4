"""The way home as data: ways, what an actor needs at a moment, and stretches of time in which all of it is linear."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.flow.records import Step
from jackstay.model.records import Action, Supply, Test, Thing

Number = int | Fraction  # seconds, exact; whole ones as integers, which reckon many times faster


def exact(value: Number) -> Number:
    """The same number, as an integer where it is whole."""
    return value.numerator if value.denominator == 1 else value


class Part(NamedTuple):
    """One action on the way home. sort: away (rid of something), out (off what they sit in), line (a change of line),
    way (along the paths), ride (brought by a carrier). metres: of a way."""

    sort: str
    action: Action
    binding: tuple[Any, ...]
    seconds: Number
    route: tuple[Thing, ...] = ()
    metres: Number = 0


class Way(NamedTuple):
    """From a state to a place inside, up to its way in. seconds: None where there is no way or its time is not known.

    carrier: who brings them, where there is no way without. unknown: an action on every way that has no duration.
    unmet, breaches: why there is no way: needs that did not hold, each with a binding, and laws (by their rules)
    that would be broken. met: of an errand, seconds until the place to be called at is reached, and met_parts the
    parts until then."""

    seconds: Number | None
    parts: tuple[Part, ...] = ()
    goal: Thing | None = None
    carrier: Thing | None = None
    unknown: Action | None = None
    unmet: tuple[tuple[Test, tuple[Any, ...]], ...] = ()
    breaches: tuple[str, ...] = ()
    met: Number = 0
    met_parts: int = 0

    @property
    def entry(self) -> Number:
        """How long each takes to come in at its end."""
        kind = self.goal.kind if self.goal is not None else None
        return exact(kind.one_by_one.value) if kind is not None and kind.one_by_one is not None else 0


class Line(NamedTuple):
    """A choice an actor has at the moments of a stretch: ``c + k * t`` seconds from t until at the way in.

    sort: wait (nothing to make safe), rest (the step is finished first), stop (it is broken off), back, on (to the
    next place of a move, or the one before). k is 0, -1 or 1. steps: what is finished first, the running step and
    those that follow at once; place: where a move is broken off to."""

    c: Number
    k: int
    way: Way
    sort: str
    step: Step | None = None
    place: Thing | None = None

    def at(self, t: Number) -> Number:
        return self.c + self.k * t

    def safe(self, t: Number) -> Number:
        """What goes before the way: making safe, or walking to the place that the way starts from."""
        return exact(self.at(t) - (self.way.seconds or 0))


class At(NamedTuple):
    """An actor who is outside during a stretch. since, until: seconds needed in all just after its start and just
    before its end, linear between. ahead: who comes in before them and is waited for."""

    actor: Thing
    step: Step | None
    line: Line
    since: Number
    until: Number
    ahead: Thing | None


class Stuck(NamedTuple):
    """An actor who has no way home during a stretch, or whose way has no time that anybody knows."""

    actor: Thing
    step: Step | None
    way: Way


class Stretch(NamedTuple):
    since: Number
    until: Number
    out: tuple[At, ...]
    stuck: tuple[Stuck, ...]


class Moment(NamedTuple):
    """What an actor needs at one moment against what is left. late: just before t, as seen from the stretch that ends
    there; otherwise just after. by: the supply that binds; None: the clock."""

    t: Number
    late: bool
    at: At
    need: Number
    left: Number
    by: Supply | None

    @property
    def margin(self) -> Number:
        return self.left - self.need

    @property
    def wait(self) -> Number:
        """Seconds in front of the way in until it is free."""
        return exact(self.need - self.at.line.at(self.t) - self.at.line.way.entry)
