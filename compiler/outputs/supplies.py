"""What is left of each supply: lines under a timeline's table, and data."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Measure, World
from jackstay.outputs.clock import bare, clock
from jackstay.outputs.figures import marked
from jackstay.outputs.wording import label
from jackstay.timing.records import Times
from jackstay.timing.supplies import Course, supplies_of

ZERO = Fraction(0)


def supply_lines(world: World, flow: ExcursionFlow, times: Times) -> Iterator[str]:
    """One for each supply: ``Wren, oxygen: 0.37 kg of 0.55 kg left at 3:54; the reserve of 0.04 kg is not touched.``"""
    for course in supplies_of(world, flow, times).courses:
        name = f"{course.supply.name}{marked(course.supply.origin)}"
        yield f"{label(course.actor)}, {name}: {_told(course)}."


def _told(course: Course) -> str:
    supply = course.supply
    if course.unknown is not None:
        return f"{supply.amount.text} at the start; how fast it is drawn is not known"
    left = max(course.left_at_end, ZERO)
    words = [f"{amount(supply.amount, left)} of {supply.amount.text} left at {clock(course.end)}"]
    empty = course.falls_below(ZERO)
    if supply.reserve is not None:
        low = course.falls_below(supply.reserve.value)
        untouched = f"the reserve of {supply.reserve.text} is not touched"
        words.append(untouched if low is None else f"down to the reserve of {supply.reserve.text} at {clock(low)}")
    if empty is not None:
        words.append(f"EMPTY at {clock(empty)}")
    if course.open_end:
        words.append("at best, because a step has no duration")
    if course.assumed is not None:
        words.append("with the heaviest effort where none is stated")
    return "; ".join(words)


def amount(like: Measure, value: Fraction) -> str:
    """In the unit that the supply is written in, three digits; where that has no one unit, as a share."""
    words = like.text.split()
    if len(words) == 2 and like.value:
        return f"{three_digits(value / like.value * Fraction(words[0]))} {words[1]}"
    return f"{three_digits(value / like.value * 100)} %" if like.value else "nothing"


def three_digits(value: Fraction) -> str:
    """``0.37``, ``1520``: three digits count, and no power of ten is written."""
    return f"{float(value):.3g}" if abs(value) < 999.5 else str(round(float(f"{float(value):.3g}")))


def supply_data(world: World, flow: ExcursionFlow, times: Times | None) -> list[dict[str, Any]]:
    """Amounts in base units and seconds from the excursion's start, exact; null where the drain is not known."""
    if times is None:
        return []
    return [_data(course) for course in supplies_of(world, flow, times).courses]


def _data(course: Course) -> dict[str, Any]:
    supply, known = course.supply, course.unknown is None
    reserve = supply.reserve.value if supply.reserve is not None else None
    low = course.falls_below(reserve) if known and reserve is not None else None
    empty = course.falls_below(ZERO) if known else None
    return {
        "actor": course.actor.name,
        "supply": supply.name,
        "amount": bare(supply.amount.value),
        "written": supply.amount.text,
        "reserve": bare(reserve) if reserve is not None else None,
        "from": bare(course.zero),
        "until": bare(course.end),
        "left": bare(course.left_at_end) if known else None,
        "below_reserve_at": bare(low) if low is not None else None,
        "empty_at": bare(empty) if empty is not None else None,
        "at_best": course.open_end,
        "effort_assumed": course.assumed is not None,
        "bends": [[bare(draw.since), bare(draw.before)] for draw in course.draws] if known else [],
    }
