"""Whether the dates of a campaign can be: nothing begins before what it starts from is over, by the nominal times."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Excursion
from jackstay.timing.schedule import schedule

DAY = 86_400


def began(excursion: Excursion) -> Fraction | None:
    """Seconds from a day long ago to its beginning; None where it does not say."""
    begins = excursion.begins
    return None if begins is None else date.fromisoformat(begins.date).toordinal() * DAY + begins.time


def check_dates(flows: Iterable[ExcursionFlow], timed: Iterable[ExcursionFlow]) -> None:
    """Report ``begins-too-early``. timed: of which flows the times mean something; the others take no time here, and
    neither does a step without a duration: what is found is so even then."""
    by_excursion = {one.excursion: one for one in flows}
    means = set(timed)
    for one in by_excursion.values():
        now, previous, between = began(one.excursion), one.excursion.previous, Fraction(0)
        if now is None or one.excursion.begins is None:
            continue
        while previous is not None and previous in by_excursion:
            before = by_excursion[previous]
            times = schedule(before) if before in means else None
            between += times.makespan if times is not None else 0
            then = began(previous)
            if then is not None:
                if now < then + between:
                    facts: dict[str, Any] = {"flow": one, "excursion": one.excursion, "previous": previous}
                    facts |= {"early": then + between - now, "between": between}
                    one.problems.append(Problem("begins-too-early", one.excursion.begins.at, facts))
                break
            previous = previous.previous
