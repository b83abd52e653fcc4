"""Rules that something is not so again too soon: ``never … again within D``, in one excursion and from one to another.

By the nominal times the time between two stretches is known exactly. For other durations the least that it can be is
bounded; where the stretches begin and end by the same steps in every timing, and lie in two excursions, that bound is
met by some day.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import World
from jackstay.timing.cells import Possible, possible_stretches
from jackstay.timing.dates import began
from jackstay.timing.events import EventGraph
from jackstay.timing.gaps import minutes
from jackstay.timing.passes import earliest
from jackstay.timing.records import Times
from jackstay.timing.spread import Spread
from jackstay.timing.truth import Case, Held, stretches

if TYPE_CHECKING:
    from jackstay.timing.lasting import Teller

Flown = tuple[ExcursionFlow, Times, list[Held]]


class Pair(NamedTuple):
    """A stretch and the next one of the same case."""

    first: Flown
    over: Held
    second: Flown
    again: Held


def check_again(world: World, case: Case, flown: Sequence[Flown], teller: "Teller") -> None:
    """Report ``too-soon-again``, ``may-come-too-soon`` and ``not-decided`` of one case."""
    assert case.rule.again is not None
    limit = case.rule.again.value
    for pair in _pairs(flown):
        flow, excursion = pair.second[0], pair.second[0].excursion
        if pair.first[1].makespan_open or pair.second[1].makespan_open:
            teller.undecided(case.rule, excursion, "some steps have no duration, so that nobody knows how soon")
            continue
        between = _nominal(pair)
        if between is None:
            names = f"{pair.first[0].excursion.name} and {excursion.name}"
            reason = f"how long lies between {names} is not said: each would have to say the date and time it begins"
            teller.undecided(case.rule, excursion, reason)
        elif between < 0:
            names = f"{excursion.name} begins before {pair.first[0].excursion.name} is over"
            teller.undecided(case.rule, excursion, f"by the dates they say, {names}")
        elif between < limit:
            _tell("too-soon-again", pair, case, between, teller)
        else:
            found = _other_days(world, case, pair, limit)
            if isinstance(found, str):
                teller.undecided(case.rule, flow.excursion, found)
            elif found is not None:
                _tell("may-come-too-soon", pair, case, found, teller)


def _pairs(flown: Sequence[Flown]) -> list[Pair]:
    """Every stretch with the one before it. One that goes on from an excursion into the next is one stretch."""
    last: dict[ExcursionFlow, tuple[Flown, Held] | None] = {}
    by_excursion = {one[0].excursion: one[0] for one in flown}
    found: list[Pair] = []
    for one in flown:
        flow, _, helds = one
        previous = by_excursion.get(flow.excursion.previous) if flow.excursion.previous is not None else None
        before = last.get(previous) if previous is not None else None
        for held in helds:
            goes_on = held.began is None and held.since == 0
            if before is not None and not (goes_on and before[1].ended is None):
                found.append(Pair(before[0], before[1], one, held))
            before = (one, held)
        last[flow] = before
    return found


def _nominal(pair: Pair) -> Fraction | None:
    """Seconds between them by the usual times; None where a date is missing."""
    gap = pair.again.since - pair.over.until
    if pair.first[0] is pair.second[0]:
        return gap
    first, second = began(pair.first[0].excursion), began(pair.second[0].excursion)
    return None if first is None or second is None else second - first + gap


def _event(step: Step | None, at: Fraction, times: Times) -> int | None:
    """2i the start of step i, 2i + 1 its end."""
    if step is None:
        return None
    return 2 * step.index + (times.end[step.index] == at)


def _other_days(world: World, case: Case, pair: Pair, limit: Fraction) -> Fraction | str | None:
    """A time between them, in seconds, on a day on which it is too short; why that is not known; None: on no day."""
    over = _event(pair.over.ended, pair.over.until, pair.first[1])
    again = _event(pair.again.began, pair.again.since, pair.second[1])
    spreads: dict[ExcursionFlow, Spread] = {}
    for flow, times, helds in (pair.first, pair.second):
        if flow in spreads:
            continue
        spreads[flow] = Spread(EventGraph(flow))
        if not any(triple is not None and not triple.certain for triple in times.triples):
            continue
        nominal = {Possible(_event(h.began, h.since, times), _event(h.ended, h.until, times)) for h in helds}
        possible = possible_stretches(world, flow, case, spreads[flow])
        if possible is None or set(possible) != nominal:
            return "in other timings it may begin or end elsewhere"
    first, second = spreads[pair.first[0]], spreads[pair.second[0]]
    if pair.first[0] is not pair.second[0]:
        a, b = began(pair.first[0].excursion), began(pair.second[0].excursion)
        assert a is not None and b is not None
        late = first.graph.seconds(first.latest(over) if over is not None else first.longest)
        soon = second.graph.seconds(second.soonest(again) if again is not None else 0)
        between = b + soon - a - late
        return between if between < limit else None
    if over is None or again is None:
        return None
    graph = first.graph
    bounds = first.after(again)
    if bounds is not None and -bounds[over] >= limit * graph.scale:
        return None
    for lengths in (graph.most, graph.least):
        early = earliest(graph, lengths)
        if early is None or not early.settled:
            continue
        start, end = ([graph.seconds(t) for t in ticks] for ticks in (early.start, early.end))
        found = stretches(world, pair.first[0], start, end, (case,))[0][0]
        gaps = [b.since - a.until for a, b in pairwise(found)]
        if gaps and min(gaps) < limit:
            return min(gaps)
    return f"no day was found on which it is so again within {minutes(limit)}, and none was ruled out"


def _tell(name: str, pair: Pair, case: Case, seconds: Fraction, teller: "Teller") -> None:
    teller.tell(
        name,
        case,
        pair.second[0],
        pair.again.began,
        pair.over.ended,
        over_flow=pair.first[0],
        seconds=seconds,
        limit=case.rule.again,
    )
