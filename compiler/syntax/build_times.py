"""Builders of the lines that speak of time, effort and supplies."""

from __future__ import annotations

from jackstay.syntax import tree
from jackstay.syntax.build_declarations import apart
from jackstay.syntax.build_values import Reject
from jackstay.syntax.tree import Formula, Name, Number, Origin, Quantity, Text


def effort_decl(name: Name, rate: Formula, origin: Origin | None) -> tree.EffortDecl:
    return tree.EffortDecl(name, rate, origin)


def body_decl(name: Name, radius: Formula, pull: Formula) -> tree.BodyDecl:
    return tree.BodyDecl(name, radius, pull)


# --- kinds and actions ------------------------------------------------------------------------------------------------


def supply_part(word: Name, value: Formula) -> tuple[Name, Formula]:
    return word, value


def supply(name: Name, amount: Quantity, *parts: tuple[Name, Formula] | Origin) -> tree.Supply:
    said, origin = apart(parts, name)
    given = _once(tuple(said))
    return tree.Supply(name, amount, given.get("reserve"), given.get("drains"), origin)


def idle(level: Name) -> tree.Idle:
    return tree.Idle(level)


def brings(kind: Name, pace: Formula, within: Formula | None) -> tree.Brings:
    return tree.Brings(kind, pace, within)


def takes(value: Formula, origin: Origin | None) -> tree.Takes:
    return tree.Takes(value, None, None, origin)


def takes_between(least: Formula, most: Formula, origin: Origin | None) -> tree.Takes:
    return tree.Takes(None, _like(least, most), most, origin)


def takes_three(value: Formula, least: Formula, most: Formula, origin: Origin | None) -> tree.Takes:
    return tree.Takes(value, _like(least, most, value), _like(most, value), origin)


def no_faster(least: Formula) -> tree.NoFaster:
    return tree.NoFaster(least)


def expects(low: Formula, high: Formula, origin: Origin | None) -> tree.Expects:
    return tree.Expects(_like(low, high), high, origin)


def _like(value: Formula, *others: Formula) -> Formula:
    """A number without a unit takes the unit of the first of the others that has one."""
    if isinstance(value, Number):
        for other in others:
            if isinstance(other, Quantity):
                return Quantity(((value.text, other.parts[-1][1]),), value.at)
    return value


# --- excursions -------------------------------------------------------------------------------------------------------


def clock_limit(value: Formula) -> tuple[Name, Formula]:
    return Name("limit", value.at), value


def clock_reserve(value: Formula) -> tuple[Name, Formula]:
    return Name("reserve", value.at), value


def clock_mark(word: Name, mark: Name) -> tuple[Name, Formula]:
    return word, mark


def clock(origin: Text | None, *bounds: tuple[Name, Formula]) -> tree.Clock:
    given = _once(bounds)
    starts, ends = given.get("starts"), given.get("ends")
    return tree.Clock(
        origin.value if origin else None,
        given.get("limit"),
        given.get("reserve"),
        starts if isinstance(starts, Name) else None,
        ends if isinstance(ends, Name) else None,
    )


def clock_unnamed(*bounds: tuple[Name, Formula]) -> tree.Clock:
    return clock(None, *bounds)


def light(dark: Formula, every: Formula, first: Formula) -> tree.Light:
    return tree.Light(dark, every, first)


def light_orbit(height: Formula, body: Name, beta: Formula, first: Formula) -> tree.Orbit:
    return tree.Orbit(height, body, beta, first)


def slow_day(run: Number, each: Number | None) -> tree.SlowDay:
    return tree.SlowDay(run, each)


def together(within: Formula) -> tree.Together:
    return tree.Together(within)


def begins(date: Name, time: Formula) -> tree.Begins:
    return tree.Begins(date, time)


def _once(parts: tuple[tuple[Name, Formula], ...]) -> dict[str, Formula]:
    given: dict[str, Formula] = {}
    for word, value in parts:
        if word.text in given:
            raise Reject(value.at, word.text, "said-twice")
        given[word.text] = value
    return given
