"""Whether the plan keeps its times when nature is unkind: every uncertain duration may turn out as it likes.

A deadline that counts from the start is kept for certain exactly when the excursion begun as early as may be keeps it
with all durations at their longest: being early never hurts, and only the longest durations can hurt. What lies between
two moments takes more (`controllable`): the crew may have to wait with the one for the sake of the other, without
knowing yet how long things take.

The reserve is there for slow days, so the limit counts whole. What may be dropped may be dropped when time runs out:
where that saves the time, nothing is said.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from jackstay.flow.records import Step
from jackstay.model.records import Task, TimeBound
from jackstay.timing.deadlines import Deadline, Part, chain, deadlines
from jackstay.timing.events import ORIGIN, AtMost, EventGraph
from jackstay.timing.passes import Early, earliest
from jackstay.timing.variants import Variants

Report = Callable[..., None]
ZERO = Fraction(0)
MOST = 1_200  # uncertain steps with a say in it beyond which what lies between two moments is not decided


def check_slow_days(graph: EventGraph, early: Early, variants: Variants, report: Report) -> None:
    """Report ``late-on-a-slow-day`` for each time that the nominal schedule keeps and nature can break, and
    ``not-decided`` where that is not known."""
    if graph.least == graph.most:
        return
    found = _Judged(graph, early)
    misses = found.misses()
    less: _Judged | None = None
    if misses and variants.every():
        less = _without(variants)
    if less is not None:
        kept = {miss.bound for miss in less.misses()}
        misses = [miss for miss in less.misses() if miss.bound in {one.bound for one in misses} & kept]
    dropped = sorted(variants.every(), key=lambda task: (task.decl.path, task.decl.line)) if less is not None else []
    for miss in misses:
        at = miss.bound.at if miss.bound is not None else graph.flow.excursion.clock_at
        report("late-on-a-slow-day", at, dropped=dropped, **miss._asdict())
    undecided = found.undecided()
    if undecided and (less is None or less.undecided()):
        at = undecided[0].at if undecided[0] is not None else graph.flow.excursion.clock_at
        report("not-decided", at, what="time", about=_about(undecided[0]), reason=found.reason())


def _about(bound: TimeBound | None) -> str:
    if bound is None:
        return "the limit is sure to be kept on a slow day"
    name = bound.mark.name if bound.mark is not None else "the start"
    return f"a step is sure to be within its time of “{name}” on a slow day"


def _without(variants: Variants) -> "_Judged | None":
    """The same without anything that may be dropped."""
    dropped: frozenset[Task] = variants.every()
    flown = variants.without(dropped)
    if flown is None:
        return None
    graph = EventGraph(flown, dropped)
    early = earliest(graph)
    return _Judged(graph, early) if early is not None else None


def surely_kept(graph: EventGraph, one: Deadline) -> bool:
    """Whether a limit that counts from a call is kept by beginning all as early as may be, whatever nature does: the
    longest way from the call on is short enough, and so is any way beside it against the earliest call. (Not known
    with light: what is late there may be later still.)"""
    soonest = earliest(graph, graph.least, maxima=())
    order = graph.order()
    if graph.light or one.source == ORIGIN or soonest is None or order is None:
        return False
    into = graph.into()
    never = -(1 << 62)
    since, beside = [never] * len(into), [never] * len(into)
    for event in order:
        i = event >> 1
        if event & 1:
            since[event] = max([since[event - 1] + graph.most[i], *(since[other] for other in into[event])])
            beside[event] = max([beside[event - 1] + graph.most[i], *(beside[other] for other in into[event])])
        else:
            since[event] = max([never, *(since[other] for other in into[event])])
            beside[event] = max([graph.floors[i], *(beside[other] for other in into[event])])
        if event == one.source:
            since[event], beside[event] = 0, never
    ends = range(1, len(into), 2) if one.target is None else [one.target]
    call = soonest.at(one.source)
    return all(max(since[event], beside[event] - call) <= one.gap for event in ends)


class Miss(NamedTuple):
    """bound: None for the limit. late: seconds at worst. zero: when what it counts from is. chain: how the time adds up
    at the longest durations; empty where nature breaks it by being quick as well as slow. spread: the steps that do it
    by taking longer than usual, with how much longer, the fewest. taking: what nature does instead, of a conflict:
    (step, seconds that it then takes). step: what a ``by`` or ``within`` is said of."""

    bound: TimeBound | None
    late: Fraction
    zero: Fraction
    chain: tuple[Part, ...]
    spread: list[tuple[Step, Fraction]]
    taking: list[tuple[Step, Fraction]]
    step: Step | None


class _Judged:
    """One way of flying the excursion."""

    def __init__(self, graph: EventGraph, early: Early) -> None:
        self.graph = graph
        slow = earliest(graph, graph.most, maxima=())
        assert slow is not None  # the nominal pass found an order
        self.early, self.slow = early, slow
        every = list(deadlines(graph, reserve=False))
        self.simple = [one for one in every if one.late(graph, early) <= 0]
        self.within: list[AtMost] = []
        if early.settled:
            self.within = [one for one in graph.at_most if one.source != ORIGIN]
        self._misses: list[Miss] | None = None

    def misses(self) -> list[Miss]:
        if self._misses is None:
            self._misses = self._long()
            between: list[AtMost | Deadline] = list(self.within)
            between += [one for one in self.simple if one.source != ORIGIN and not surely_kept(self.graph, one)]
            if between and not self.too_many():
                known = {miss.bound for miss in self._misses}
                self._misses += self._conflicts([one for one in between if one.bound not in known])
        return self._misses

    def _long(self) -> list[Miss]:
        """Deadlines that the longest durations miss."""
        worst: dict[TimeBound | None, tuple[Fraction, Deadline]] = {}
        for one in self.simple:
            late = one.late(self.graph, self.slow)
            if late > worst.get(one.bound, (ZERO, one))[0]:
                worst[one.bound] = (late, one)
        return [self._miss(one, late) for late, one in worst.values()]

    def _miss(self, one: Deadline, late: Fraction) -> Miss:
        graph, slow = self.graph, self.slow
        parts = chain(graph, slow, one.target)
        since = ZERO if one.source == ORIGIN else graph.seconds(slow.at(one.source))
        longer = []
        for part in parts:
            i = part.step.index
            if part.until > since and graph.most[i] > graph.likely[i]:
                longer.append((part.step, graph.seconds(graph.most[i] - graph.likely[i])))
        longer.sort(key=lambda item: (-item[1], item[0].index))
        room = sum((more for _, more in longer), ZERO) - late  # what may be added before it is late
        used: list[tuple[Step, Fraction]] = []
        while longer and sum((more for _, more in used), ZERO) <= room:
            used.append(longer.pop(0))
        return Miss(one.bound, late, since, parts, used, [], parts[-1].step if parts else None)

    def _conflicts(self, maxima: list[AtMost | Deadline]) -> list[Miss]:
        """Maxima between two moments that no way of waiting keeps, whatever nature does. One at a time: those in the
        first conflict are left out before the next is looked for."""
        from jackstay.timing.controllable import MOST as LONGEST
        from jackstay.timing.controllable import conflict
        from jackstay.timing.uncertain import uncertain

        found: list[Miss] = []
        graph = self.graph
        while maxima:
            why = conflict(uncertain(graph, maxima))
            if why is None:
                break
            tags = [one for one in why.tags if isinstance(one, (AtMost, Deadline))]
            taking = [
                (graph.flow.steps[link.tag], Fraction(link.most if what == LONGEST else link.least) / graph.scale)
                for link, what in why.links
                if isinstance(link.tag, int)
            ]
            late = Fraction(why.short_by) / graph.scale
            step = graph.flow.steps[tags[0].step] if isinstance(tags[0], AtMost) else None
            taking.sort(key=lambda item: item[0].index)
            found.append(Miss(tags[0].bound, late, ZERO, (), [], taking, step))
            broken = {one.bound for one in tags}
            maxima = [one for one in maxima if one.bound not in broken]
        return found

    # --- what is not decided -----------------------------------------------------------------------------------------

    def too_many(self) -> bool:
        from jackstay.timing.uncertain import concerned

        between: list[AtMost | Deadline] = list(self.within)
        between += [one for one in self.simple if one.source != ORIGIN]
        if len(self.graph.most) <= MOST:
            return False
        return sum(self.graph.least[i] != self.graph.most[i] for i in concerned(self.graph, between)) > MOST

    def undecided(self) -> list[TimeBound | None]:
        """Bounds between two moments that the analysis does not cover, unless it has found them broken. None: the
        limit, where it counts from a call."""
        told = {miss.bound for miss in self.misses()}
        bounds: list[TimeBound | None] = [one.bound for one in self.within]
        if self.too_many():
            bounds += [one.bound for one in self.simple if one.source != ORIGIN and not surely_kept(self.graph, one)]
        bounds = [bound for bound in dict.fromkeys(bounds) if bound not in told]
        if not bounds or self.too_many():
            return bounds
        from jackstay.timing.uncertain import behind

        if not self.graph.light:
            return []
        return [
            bound
            for bound in bounds
            if behind(
                self.graph, [event for one in self.within if one.bound == bound for event in (one.source, one.target)]
            )
            & self.graph.light.keys()
        ]

    def reason(self) -> str:
        if self.too_many():
            return f"more than {MOST} steps have uncertain durations"
        return "steps before it wait for the light, which comes and goes: waiting a little may mean waiting for long"
