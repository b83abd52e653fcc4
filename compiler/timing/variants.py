"""An excursion as it is flown otherwise than written out: without some droppable tasks, or into a fallback.

The steps are replayed, so that ways and drawn tools are those of the variant; nothing is judged here. Whether the
variant holds at all is the flow analysis' business.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import NamedTuple

from jackstay.flow.analyse import entries_flown
from jackstay.flow.dropping import Flight, droppable, with_followers
from jackstay.flow.fallbacks import Call, calls_of, closed, state_at
from jackstay.flow.laws import Distances
from jackstay.flow.order import Order
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.replay import Replay
from jackstay.flow.state import State
from jackstay.model.records import Entry, Fallback, Task, World
from jackstay.timing.records import Times


class Variants:
    """Replays of one excursion's variants; what the search for ways needs is worked out once."""

    def __init__(self, world: World, flow: ExcursionFlow) -> None:
        self.world = world
        self.flow = flow
        self._distances: Distances | None = None
        self._without: dict[frozenset[Task], ExcursionFlow | None] = {}

    def without(self, dropped: frozenset[Task]) -> ExcursionFlow | None:
        """The excursion from its own start without these tasks; None where that has no order."""
        if dropped not in self._without:
            excursion = self.flow.excursion
            self._without[dropped] = self._replay(
                excursion.tasks, entries_flown(excursion, dropped), self._start(), dropped
            )
        return self._without[dropped]

    def sets(self) -> list[frozenset[Task]]:
        """Each droppable task alone (with what goes only with it), then all together."""
        alone = [with_followers(task) for task in droppable(self.flow.excursion)]
        found = list(dict.fromkeys(alone))
        every = frozenset(task for one in alone for task in one)
        return found if len(found) < 2 else [*found, every]

    def every(self) -> frozenset[Task]:
        """All that may be dropped."""
        found = self.sets()
        return found[-1] if found else frozenset()

    def fallback(self, fallback: Fallback, times: Times) -> "Iterator[FallbackFlight]":
        """From each call of the fallback, flown from the state that the nominal times lead to."""
        start = self._start()
        flight = Flight(self.flow, start, start)
        for call in calls_of(self.flow, fallback):
            moment = times.end[call.step.index]
            cut, begins = _nominal_cut(self.flow, times, call, moment)
            state, done = state_at(self.world, flight, cut, call)
            tasks = [fallback.body, *fallback.then]
            entries = [e for task in tasks for e in task.entries if e.task is fallback.body or e.index not in done]
            flown = self._replay(tasks, entries, state, frozenset())
            if flown is not None:
                yield FallbackFlight(fallback, call, cut, begins, flown)

    def _start(self) -> State:
        state = State(len(self.world.variables))
        for variable in self.world.variables:
            value = self.flow.start[variable.id]
            if value is not None:
                state.put(variable, value)
        return state

    def _replay(
        self, tasks: Sequence[Task], entries: list[Entry], state: State, dropped: frozenset[Task]
    ) -> ExcursionFlow | None:
        if self._distances is None:
            self._distances = Distances(self.world)
        order = Order(list(tasks), entries)
        if order.circle:
            return None
        replay = Replay(self.world, self.flow.excursion, order, state, self._distances, dropped)
        flown = replay.run()
        flown.companions = [(s, replay.main[m]) for s, m in flown.companions if m in replay.main]
        return flown


class FallbackFlight(NamedTuple):
    """call: what it begins after. cut: for each column of the plan's flow, how many of its steps are over by then.
    begins: seconds from the excursion's start; the others have finished by then what they were in the middle of."""

    fallback: Fallback
    call: Call
    cut: tuple[int, ...]
    begins: Fraction
    flow: ExcursionFlow


def _nominal_cut(flow: ExcursionFlow, times: Times, call: Call, moment: Fraction) -> tuple[tuple[int, ...], Fraction]:
    """For each column the steps that have begun by that moment, and when the last of these is over. What a step of the
    cut needs before is in it too, since nothing begins before what it waits for is over."""
    counts = [0] * len(flow.columns)
    begins = moment
    own = {column for column, _ in call.step.positions}
    last = dict(call.step.positions)
    for step in flow.steps:
        if any(column in own and position > last[column] for column, position in step.positions):
            continue
        begun = times.start[step.index] < moment or times.end[step.index] <= moment
        if begun or step is call.step:
            for column, position in step.positions:
                counts[column] = max(counts[column], position + 1)
            begins = max(begins, times.end[step.index])
    cut = tuple(counts)
    by_place = {place: step for step in flow.steps for place in step.positions}
    grown = True
    while grown:  # steps that take no time may stand on the very edge: nobody has begun what another has not
        grown = False
        for column, count in enumerate(cut):
            if count and not closed(by_place[column, count - 1], cut):
                cut = (*cut[:column], count - 1, *cut[column + 1 :])
                grown = True
    return cut, begins
