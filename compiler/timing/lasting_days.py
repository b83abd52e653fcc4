"""Rules about the clock on other days than the nominal one: proved, broken on a day that is shown, or not decided."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Measure, Test, World
from jackstay.timing.cells import Possible, possible_stretches
from jackstay.timing.events import EventGraph
from jackstay.timing.gaps import minutes
from jackstay.timing.lasting_limits import Limits
from jackstay.timing.passes import earliest
from jackstay.timing.records import Times
from jackstay.timing.renewals import Renewal
from jackstay.timing.spread import Spread
from jackstay.timing.truth import Case, Held, stretches

if TYPE_CHECKING:
    from jackstay.timing.lasting import Teller

MOST_WORK = 600_000  # events looked at for the bounds of one excursion


class Broken(NamedTuple):
    """On some day: from and until which step (None: the excursion's start, its end), in seconds."""

    since: Step | None
    until: Step | None
    seconds: Fraction
    limit: Measure


class _Unproved(Exception):
    """More work than is done, or no bound at all."""


def check_other_days(
    world: World,
    flow: ExcursionFlow,
    times: Times,
    cases: Sequence[Case],
    made: Sequence[Sequence[Renewal]],
    teller: "Teller",
) -> None:
    """Report ``may-last-too-long``, ``may-not-be-renewed`` and ``not-decided`` for one excursion."""
    if times.makespan_open:
        return  # the nominal judgement has said what that leaves open
    days: _Days | None = None
    for case, renewed in zip(cases, made, strict=True):
        if case.rule.again is not None or (id(case.rule), flow) in teller.broken:
            continue
        limits = Limits(flow, case)
        least = limits.least()
        if days is None:
            days = _Days(world, flow)
        if least is not None and days.spread.longest <= least * days.graph.scale:
            continue
        goals: list[int | None] = list(range(len(case.goal))) if case.rule.every is not None else [None]
        for goal in goals:
            steps = [one.step for one in renewed if one.goal == goal]
            _judge(days, case, goal, steps, limits, teller)


def _judge(days: "_Days", case: Case, goal: int | None, steps: list[Step], limits: Limits, teller: "Teller") -> None:
    about: Test | None = None if goal is None else case.goal[goal]
    worst: Possible | None = None
    try:
        worst = days.too_long(case, steps, limits)
        if worst is None:
            return
        limit = limits.least(worst)
        what = "its limit" if limit is None else minutes(limit)
        reason = f"no day was found on which it is more than {what}, and none was ruled out"
    except _Unproved:
        reason = "too many timings would have to be looked at"
    broken = days.broken(case, steps, limits, worst)
    if broken is None:
        teller.undecided(case.rule, days.flow.excursion, reason)
        return
    teller.tell(
        "may-last-too-long" if goal is None else "may-not-be-renewed",
        case,
        days.flow,
        broken.since,
        broken.until,
        goal=about,
        since_flow=days.flow,
        since_step=broken.since,
        seconds=broken.seconds,
        at_least=False,
        limit=broken.limit,
    )


class _Days:
    """One excursion with its uncertain durations."""

    def __init__(self, world: World, flow: ExcursionFlow) -> None:
        self.world = world
        self.flow = flow
        self.graph = EventGraph(flow)
        self.spread = Spread(self.graph)
        self.work = 0

    def too_long(self, case: Case, renewed: list[Step], limits: Limits) -> Possible | None:
        """A stretch that no bound keeps within the limit; None where all are."""
        possible = possible_stretches(self.world, self.flow, case, self.spread)
        if possible is None:
            raise _Unproved
        chain = _chain(renewed)
        for one in possible:
            limit = limits.least(one)
            if limit is None or not self._kept(one, chain, limit * self.graph.scale):
                return one
        return None

    def _kept(self, one: Possible, renewed: list[Step], most: Fraction) -> bool:
        """Whether from its beginning and from each renewal the next renewal or the end comes soon enough."""
        if self._within(one.began, one.ended, most):
            return True
        if not renewed:
            return False
        flow = self.flow
        inside = [step for step in renewed if not self._surely_before(step, one.began)]
        marks: list[int | None] = [one.began, *(2 * step.index + 1 for step in inside)]
        for n, mark in enumerate(marks):
            following = marks[n + 1] if n + 1 < len(marks) else None
            sooner = following is not None and self._within(mark, following, most)
            if not sooner and not self._within(mark, one.ended, most):
                return False
        return bool(flow.steps)

    def _surely_before(self, step: Step, event: int | None) -> bool:
        return event is not None and happens_before(step, self.flow.steps[event >> 1])

    def _within(self, first: int | None, second: int | None, most: Fraction) -> bool:
        """Whether the second event surely comes no more than so many ticks after the first. None: as the first, the
        excursion's start; as the second, its end."""
        spread = self.spread
        late = spread.longest if second is None else spread.latest(second)
        if late - (0 if first is None else spread.soonest(first)) <= most:
            return True
        if first is None:
            return False
        if first not in spread.known:
            self.work += len(spread.order)
            if self.work > MOST_WORK:
                raise _Unproved
        bounds = spread.after(first)
        if bounds is None:
            raise _Unproved
        return (max(bounds) if second is None else bounds[second]) <= most

    def broken(self, case: Case, renewed: list[Step], limits: Limits, worst: Possible | None) -> Broken | None:
        """A day on which the case does not keep its limit, looked for among the likeliest to be one."""
        for lengths in self._tries(worst):
            early = earliest(self.graph, lengths)
            if early is None or not early.settled:
                continue  # nobody knows how such a day goes
            start, end = ([self.graph.seconds(t) for t in ticks] for ticks in (early.start, early.end))
            for held in stretches(self.world, self.flow, start, end, (case,))[0][0]:
                if limits.constant is not None:
                    found = _exceeds(held, renewed, end, limits.constant)
                    if found is not None:
                        return found
                    continue
                past, _ = limits.exceeded(held, Fraction(0), start, end)
                if past is not None:
                    return Broken(held.began, held.ended if past.ended else None, past.seconds, past.limit)
        return None

    def _tries(self, worst: Possible | None) -> Iterator[list[int]]:
        graph = self.graph
        yield graph.most
        if worst is not None and worst.began is not None:
            begun = self.flow.steps[worst.began >> 1]
            ahead = [step is not begun and happens_before(step, begun) for step in self.flow.steps]
            yield [least if first else most for first, least, most in zip(ahead, graph.least, graph.most, strict=True)]
            aside = [not first and step is not begun for first, step in zip(ahead, self.flow.steps, strict=True)]
            yield [most if late else least for late, least, most in zip(aside, graph.least, graph.most, strict=True)]
        if worst is not None and worst.ended is not None:
            over = self.flow.steps[worst.ended >> 1]
            ahead = [step is over or happens_before(step, over) for step in self.flow.steps]
            yield [most if first else least for first, least, most in zip(ahead, graph.least, graph.most, strict=True)]
        yield graph.least


def _exceeds(held: Held, renewed: Sequence[Step], end: Sequence[Fraction], limit: Measure) -> Broken | None:
    inside = sorted(
        (step for step in renewed if held.since <= end[step.index] <= held.until), key=lambda s: (end[s.index], s.index)
    )
    at, since = held.since, held.began
    points: list[tuple[Fraction, Any]] = [*((end[step.index], step) for step in inside), (held.until, held.ended)]
    for when, step in points:
        if when - at > limit.value:
            return Broken(since, step, when - at, limit)
        at, since = when, step
    return None


def _chain(steps: Sequence[Step]) -> list[Step]:
    """Steps each of which surely follows the one before; others are left out, which only makes less sure."""
    found: list[Step] = []
    for step in steps:
        if not found or happens_before(found[-1], step):
            found.append(step)
    return found
