"""What runs along an excursion's clock on the review page: light, limits, supplies, the margin of the way home."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.model.records import Thing, World
from jackstay.outputs.balance import balance, clock_lines, light_lines
from jackstay.outputs.home_account import home_account
from jackstay.outputs.page_words import plain
from jackstay.outputs.supplies import supply_lines
from jackstay.outputs.views import View
from jackstay.outputs.wayhome import summaries
from jackstay.timing.home import Row
from jackstay.timing.supplies import supplies_of

TURNS = 200  # stretches of darkness drawn at most
ZERO = Fraction(0)


def clock_data(view: View) -> dict[str, Any]:
    """Seconds from the excursion's start; null where nothing is said."""
    times, excursion = view.times, view.excursion
    assert times is not None
    limit = times.clock_zero + excursion.limit.value if excursion.limit is not None else None
    reserve = excursion.reserve.value if excursion.reserve is not None else None
    return {
        "zero": plain(times.clock_zero),
        "stop": plain(times.clock_end),
        "end": plain(times.makespan),
        "open": times.makespan_open,
        "limit": plain(limit) if limit is not None else None,
        "reserve": plain(limit - reserve) if limit is not None and reserve is not None else None,
        "dark": _dark(view),
        "told": [*balance(view, times), *clock_lines(view, times), *light_lines(view, times)],
        "ends": [[actor.index, plain(end)] for actor, end in times.actor_end.items()],
    }


def _dark(view: View) -> list[list[int | float]]:
    light, times = view.excursion.light, view.times
    assert times is not None
    found: list[list[int | float]] = []
    if light is None or light.dark.value <= 0 or light.every.value <= 0:
        return found
    at = light.first.value
    while at < times.makespan and len(found) < TURNS:
        found.append([plain(at), plain(min(at + light.dark.value, times.makespan))])
        at += light.every.value
    return found


def courses_data(world: World, view: View) -> dict[str, Any]:
    """supplies: name, whose, [seconds, share left] at each bend, the reserve's share. home: for each who goes out, the
    least margin in minutes as [since, until, at its start, at its end]; told: the same in words."""
    times = view.times
    assert times is not None
    supplies = []
    for course in supplies_of(world, view.flow, times).courses:
        amount = course.supply.amount.value
        if course.unknown is not None or not amount:
            continue
        bends = [[plain(draw.since), round(float(draw.before / amount), 4)] for draw in course.draws]
        bends.append([plain(course.end), round(float(course.left_at_end / amount), 4)])
        reserve = course.supply.reserve
        supplies.append(
            {
                "w": course.actor.index,
                "name": course.supply.name,
                "bends": bends,
                "reserve": round(float(reserve.value / amount), 4) if reserve is not None else None,
            }
        )
    rows: dict[Thing, list[list[int | float]]] = {}

    def see(row: Row) -> None:
        for at in row.stretch.out:
            lefts = row.lefts[at.actor]
            if lefts:
                margins = [(plain(Fraction(x.since - at.since)), plain(Fraction(x.until - at.until))) for x in lefts]
                own = rows.setdefault(at.actor, [])
                own.append(
                    [
                        plain(Fraction(row.stretch.since)),
                        plain(Fraction(row.stretch.until)),
                        min(first for first, _ in margins),
                        min(last for _, last in margins),
                    ]
                )

    account, stretches = home_account(view, times)
    for stretch in stretches:
        see(stretch)
    return {
        "supplies": supplies,
        "home": [{"w": actor.index, "rows": found} for actor, found in rows.items()],
        "told": [*supply_lines(world, view.flow, times), *summaries(world, account)],
    }
