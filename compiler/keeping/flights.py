"""Excursions that were flown, timed and judged before, given again where nothing that they go by has changed.

A flight goes by its excursion, the state that it starts from and the tasks that are dropped. Its times go by the flight
alone; a fallback's by the flight, by what has been told of it, and where rules of the clock look back by the flights
before. What looks at the whole campaign (ends that are promised, dates, what may be dropped) is asked anew each time,
and is given the flights that are known.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.analyse import Ways
from jackstay.flow.dropping import Flight, Fly, StartAfter
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.flow.replay import Replay
from jackstay.flow.state import State
from jackstay.model.records import Excursion, Fallback, Task, World
from jackstay.timing.judging import Clockwork
from jackstay.timing.records import Times
from jackstay.timing.variants import Variants

if TYPE_CHECKING:
    from jackstay.flow.without import Campaign

Timed = tuple[Times, Variants]


def alike(one: State, other: State) -> bool:
    """Whether two states are the same to the last, with what hangs on each thing in the same order."""
    return one is other or (
        one.values == other.values
        and _rows(one.aboard) == _rows(other.aboard)
        and _rows(one.ends_on) == _rows(other.ends_on)
        and one.doubtful == other.doubtful
        and one.over == other.over
    )


def _rows(groups: dict[int, Any]) -> list[tuple[int, list[Any]]]:
    return [(holder, list(things)) for holder, things in groups.items()]


class KeptWays(Ways):
    """The flights of one world. What was not asked for in one check is dropped after it (`turn`)."""

    def __init__(self, world: World) -> None:
        super().__init__(world)
        self.flown: dict[Any, tuple[Flight, list[Problem]]] = {}
        self.judged: dict[Any, tuple[ExcursionFlow, list[Problem]]] = {}
        self.flown_now: dict[Any, tuple[Flight, list[Problem]]] = {}
        self.judged_now: dict[Any, tuple[ExcursionFlow, list[Problem]]] = {}
        self.last: Campaign | None = None

    def turn(self) -> None:
        self.flown, self.flown_now = self.flown_now, {}
        self.judged, self.judged_now = self.judged_now, {}

    def fly(self, excursion: Excursion, start: State, dropped: frozenset[Task], kind: type[Replay]) -> Flight:
        key = (excursion, dropped, kind)
        known = self.flown_now.get(key) or self.flown.get(key)
        if known is None or not alike(known[0].start, start):
            flight = super().fly(excursion, start, dropped, kind)
            known = flight, list(flight.flow.problems)
        else:
            flight, problems = known
            flight.flow.problems[:] = problems
            flight.flow.without.clear()
        self.flown_now[key] = known
        return flight

    def judge(self, flight: Flight, fallback: Fallback, dropped: frozenset[Task] = frozenset()) -> list[Problem]:
        key = (id(flight.flow), fallback, dropped)
        known = self.judged_now.get(key) or self.judged.get(key)
        if known is None or known[0] is not flight.flow:
            known = flight.flow, super().judge(flight, fallback, dropped)
        self.judged_now[key] = known
        return list(known[1])

    def campaign(
        self, flights: dict[Excursion, Flight], sound: set[Excursion], fly: Fly, start_after: StartAfter
    ) -> Campaign:
        from jackstay.keeping.dropped import KeptCampaign

        before = self.last if isinstance(self.last, KeptCampaign) else None
        self.last = KeptCampaign(self.world, flights, sound, fly, start_after, before)
        return self.last


class KeptClockwork(Clockwork):
    """The times of flights. What was not asked for in one check is dropped after it (`turn`)."""

    def __init__(self) -> None:
        self.known: dict[ExcursionFlow, tuple[list[Problem], Timed | None]] = {}
        self.now: dict[ExcursionFlow, tuple[list[Problem], Timed | None]] = {}
        self.late: dict[ExcursionFlow, tuple[list[object], list[Problem]]] = {}
        self.late_now: dict[ExcursionFlow, tuple[list[object], list[Problem]]] = {}

    def turn(self) -> None:
        self.known, self.now = self.now, {}
        self.late, self.late_now = self.late_now, {}

    def judge(self, world: World, one: ExcursionFlow) -> Timed | None:
        kept = self.known.get(one)
        if kept is None:
            before = len(one.problems)
            found = super().judge(world, one)
            kept = one.problems[before:], found
        else:
            one.problems += kept[0]
        self.now[one] = kept
        return kept[1]

    def judge_fallbacks(self, world: World, flow: Flow, one: ExcursionFlow, found: Timed) -> None:
        # everything that it may look at, held here so that nothing else can come to be the same object
        seen: list[object] = [*found, *one.problems, *flow.problems]
        if any(rule.on_clock for rule in world.rules):
            seen += _before(flow, one)
        kept = self.late.get(one)
        if kept is None or len(kept[0]) != len(seen) or any(a is not b for a, b in zip(kept[0], seen, strict=True)):
            before = len(one.problems)
            super().judge_fallbacks(world, flow, one, found)
            kept = seen, one.problems[before:]
        else:
            one.problems += kept[1]
        self.late_now[one] = kept


def _before(flow: Flow, one: ExcursionFlow) -> list[ExcursionFlow]:
    """The flights of the excursions that this one starts from, and theirs."""
    by_excursion = {flown.excursion: flown for flown in flow.excursions}
    out: list[ExcursionFlow] = []
    previous = one.excursion.previous
    while previous is not None and previous in by_excursion:
        out.append(by_excursion[previous])
        previous = previous.previous
    return out
