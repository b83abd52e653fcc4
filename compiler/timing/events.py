"""The starts and ends of an excursion's steps, and what puts them apart, for schedules, networks and forecasts.

Step i has two events, ``2i`` its start and ``2i + 1`` its end. Times are whole *ticks*, ``scale`` to the second, so
that passes over them stay in integers and exact. The origin is the start of the excursion, tick 0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Entry, Mark, Task, TimeBound
from jackstay.timing.durations import durations, steps_of
from jackstay.timing.light import Cycle
from jackstay.timing.records import Triple

ORIGIN = -1  # the excursion's start, where an event is asked for
ZERO = Fraction(0)


class AtMost(NamedTuple):
    """``target`` comes at most ``gap`` ticks after ``source`` (an event, or `ORIGIN`). bound: the ``by`` or ``within``
    that says so; step: the index of the step it is said of. A ``within D of MARK`` makes two of these, one each way."""

    source: int
    target: int
    gap: int
    bound: TimeBound
    step: int


class EventGraph:
    """What is asked of the events of one excursion's flow.

    triples: seconds by step, None where there is no duration. least, likely, most: the same in ticks, 0 for None.
    before[i]: the steps that are over when step i starts. beside: pairs (inner, outer): the inner one starts no sooner
    than the outer, which is not over before it. floors[i]: the tick before which step i may not start.
    light[i]: ``daylight`` or ``dark``, for a step that has to fit into one stretch of it, by cycle; only where the
    excursion says what the light is. at_most: every maximum, ``by`` first. steps_of: an entry's steps. dropped:
    tasks whose steps do nothing. begins: the tick before which nothing starts, of a fallback (`begin_at`)."""

    __slots__ = (
        "at_most",
        "before",
        "begins",
        "beside",
        "cycle",
        "dropped",
        "floors",
        "flow",
        "least",
        "light",
        "likely",
        "most",
        "plain",
        "scale",
        "steps_of",
        "triples",
    )

    def __init__(
        self, flow: ExcursionFlow, dropped: frozenset[Task] = frozenset(), also: tuple[Fraction, ...] = ()
    ) -> None:
        """also: further times in seconds that have to be whole ticks."""
        self.flow = flow
        self.dropped = dropped
        self.triples: tuple[Triple | None, ...] = durations(flow, dropped)
        self.steps_of: dict[Entry, list[Step]] = steps_of(flow)
        said = list(self.said())
        light = flow.excursion.light
        seconds = [*also, *(bound.value for bound, _ in said)]
        seconds += [light.dark.value, light.every.value, light.first.value] if light is not None else []
        # few different durations, and many steps: told apart by which object they are, which costs least
        parts = {id(triple): triple for triple in self.triples if triple is not None}
        numbers = {one.denominator for triple in parts.values() for one in triple}
        self.scale: int = lcm(*numbers, *(one.denominator for one in seconds))
        exact = {key: (self.ticks(a), self.ticks(b), self.ticks(c)) for key, (a, b, c) in parts.items()}
        exact[id(None)] = (0, 0, 0)
        ticks = [exact[id(triple)] for triple in self.triples]
        self.least: list[int] = [one[0] for one in ticks]
        self.likely: list[int] = [one[1] for one in ticks]
        self.most: list[int] = [one[2] for one in ticks]
        self.before: Sequence[tuple[int, ...]] = flow.predecessors
        self.beside: Sequence[tuple[int, int]] = flow.companions
        self.plain: bool = not flow.companions and all(
            before < i for i, into in enumerate(flow.predecessors) for before in into
        )
        self.cycle: Cycle | None = None
        if light is not None:
            self.cycle = Cycle(
                self.ticks(light.dark.value), self.ticks(light.every.value), self.ticks(light.first.value)
            )
        self.floors: list[int] = [0] * len(flow.steps)
        self.begins = 0
        self.light: dict[int, str] = {}
        self.at_most: list[AtMost] = []
        self._bounds(said)

    def ticks(self, seconds: Fraction) -> int:
        """A time of this excursion in ticks. Only what the scale divides: durations and written bounds."""
        return seconds.numerator * (self.scale // seconds.denominator)

    def begin_at(self, seconds: Fraction) -> None:
        """Nothing starts before; one of the times in ``also``."""
        self.begins = self.ticks(seconds)
        self.floors = [max(floor, self.begins) for floor in self.floors]

    def seconds(self, ticks: int) -> Fraction:
        return Fraction(ticks, self.scale)

    def said(self) -> Iterator[tuple[TimeBound, list[Step]]]:
        """Every bound of time that is in force, with the steps of the entry it holds for. A task's ``by`` and
        ``within`` hold for its end, its other bounds for each of its steps."""
        tasks: dict[Task, list[list[Step]]] = {}
        for entry, steps in self.steps_of.items():
            if entry.task in self.dropped:
                continue
            for bound in entry.bounds:
                yield bound, steps
            if entry.task.bounds:
                tasks.setdefault(entry.task, []).append(steps)
        for task, flown in tasks.items():
            for bound in task.bounds:
                for steps in flown if bound.sort in ("not-before", "light") else _last(flown):
                    yield bound, steps

    def _bounds(self, said: list[tuple[TimeBound, list[Step]]]) -> None:
        by: list[AtMost] = []
        within: list[AtMost] = []
        for bound, steps in said:
            gap = self.ticks(bound.value)
            if bound.sort == "not-before":
                for step in _held(steps):
                    self.floors[step.index] = max(self.floors[step.index], gap)
            elif bound.sort == "light" and self.cycle is not None:
                for step in _held(steps):
                    self.light[step.index] = bound.word
            elif bound.sort == "by":
                last = main_step(steps).index
                by.append(AtMost(ORIGIN, 2 * last + 1, gap, bound, last))
            elif bound.sort == "within" and bound.mark is not None and bound.mark.task not in self.dropped:
                said_at = self.event_of(bound.mark)
                if said_at is not None:
                    last = main_step(steps).index
                    within.append(AtMost(said_at, 2 * last + 1, gap, bound, last))
                    within.append(AtMost(2 * last + 1, said_at, gap, bound, last))
        self.at_most = by + within

    def event_of(self, mark: Mark) -> int | None:
        """The event at which a mark is called: the end of the step that says it. None: nobody says it in this flow."""
        if mark.entry is None:
            return None
        steps = self.steps_of.get(mark.entry)
        return None if steps is None else 2 * main_step(steps).index + 1

    def into(self) -> list[list[int]]:
        """For each event the events that it comes no sooner than. (Of an end, the step's own start is not among them:
        it comes the step's duration before.)"""
        found: list[list[int]] = []
        for before in self.before:
            found += [[2 * one + 1 for one in before], []]
        for inner, outer in self.beside:
            found[2 * inner].append(2 * outer)
            found[2 * outer + 1].append(2 * inner + 1)
        return found

    def order(self) -> list[int] | None:
        """Every event after all that it comes no sooner than; None where they wait for each other in a circle."""
        if self.plain:
            return list(range(2 * len(self.before)))
        into = self.into()
        after: list[list[int]] = [[] for _ in into]
        missing = [len(sources) + event % 2 for event, sources in enumerate(into)]
        for event, sources in enumerate(into):
            for source in sources:
                after[source].append(event)
        ready = [event for event, count in enumerate(missing) if count == 0]
        found: list[int] = []
        while ready:
            event = ready.pop()
            found.append(event)
            for later in (*after[event], *((event + 1,) if event % 2 == 0 else ())):
                missing[later] -= 1
                if missing[later] == 0:
                    ready.append(later)
        return found if len(found) == len(into) else None


def main_step(steps: list[Step]) -> Step:
    """The written step of an entry; of an arrival, the last of its way."""
    return next((step for step in reversed(steps) if not step.inserted), steps[-1])


def _held(steps: list[Step]) -> list[Step]:
    """The steps of an entry that its bounds speak of: of an arrival, the whole way; a tool may be drawn sooner."""
    return [step for step in steps if not step.inserted or step.entry.action is None]


def _last(flown: list[list[Step]]) -> list[list[Step]]:
    """Of each cast member the last entry: the task is over when all of these are."""
    last = {actor: steps for steps in flown for actor in steps[0].entry.cast}
    kept = {id(steps) for steps in last.values()}
    return [steps for steps in flown if id(steps) in kept]
