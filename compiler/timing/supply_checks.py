"""Whether every supply lasts: at the nominal times, and with every duration at its longest."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Supply, Thing, World
from jackstay.source.spans import Span
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import earliest
from jackstay.timing.records import Run, Times
from jackstay.timing.schedule import run_of
from jackstay.timing.supplies import ZERO, Course, Draw, Supplies, supplies_of

Report = Callable[..., None]


def at_longest(graph: EventGraph) -> Run | None:
    """The excursion as it goes when every step takes as long as it may, each begun as early as may be."""
    early = earliest(graph, graph.most)
    if early is not None and not early.settled:
        early = earliest(graph, graph.most, maxima=())  # what cannot be kept together is told by itself
    return run_of(graph, early) if early is not None else None


class Drawn(NamedTuple):
    """What one step drew of a supply in all, and what was left when it was over."""

    step: Step
    amount: Fraction
    left: Fraction


def check_supplies(
    world: World, flow: ExcursionFlow, times: Times, report: Report, graph: EventGraph | None = None
) -> None:
    """Report ``supply-runs-out``, ``supply-below-reserve``, ``supply-may-run-out`` and ``not-decided``. graph: the
    flow's own, where it is at hand.

    The first three once for each actor, at the supply that is the first to fall so low, with: flow, actor, supply,
    course, at_time (seconds from the excursion's start), step (the one that runs then; None: the actor waits), drawn
    (what drew most of it until then, in order of time), waited (what waiting drew until then), others (the actor's
    other supplies that do the same, each with when)."""
    supplies = supplies_of(world, flow, times)
    low: list[Low] = []
    told: set[tuple[Thing, str]] = set()
    undecided: dict[tuple[Thing, str], list[Supply]] = {}
    for course in supplies.courses:
        reason = _judge(flow, course, low, told)
        if reason:
            undecided.setdefault((course.actor, reason), []).append(course.supply)
            told.add((course.actor, course.supply.name))
    for (actor, reason), which in undecided.items():
        report(
            "not-decided",
            flow.excursion.decl,
            what="supply",
            excursion=flow.excursion,
            actor=actor,
            supplies=which,
            reason=reason,
        )
    if supplies.courses and any(triple is not None and not triple.certain for triple in times.triples):
        longest = at_longest(graph or EventGraph(flow))
        if longest is not None:
            _judge_longest(flow, supplies_of(world, flow, times, longest), report, low, told)
    _tell(flow, low, report)


def _judge(flow: ExcursionFlow, course: Course, found: list["Low"], told: set[tuple[Thing, str]]) -> str:
    """Notes what is sure; returns why something is not decided, or nothing."""
    supply = course.supply
    reserve = supply.reserve.value if supply.reserve is not None else ZERO
    if not course.open_end and course.surely_above(reserve):
        return ""
    if course.unknown is not None:
        step = course.unknown.step
        return f"nobody says how fast it is drawn while {_doing(step)}"
    empty = course.falls_below(ZERO)
    low = course.falls_below(reserve)
    if course.assumed is not None and low is not None:
        return f"nobody says what effort it takes: {_doing(course.assumed.step)}"
    if empty is not None:
        told.add((course.actor, supply.name))
        found.append(Low("supply-runs-out", course, empty))
    elif low is not None:
        told.add((course.actor, supply.name))
        found.append(Low("supply-below-reserve", course, low))
    elif course.open_end and not any(step.entry.hole for step in flow.steps):  # a hole speaks for itself
        return "some steps have no duration, so that it may be in use for longer"
    return ""


def _doing(step: Step | None) -> str:
    return "waiting" if step is None or step.action is None else f"`{step.action.text}`"


def _judge_longest(
    flow: ExcursionFlow, supplies: Supplies, report: Report, found: list["Low"], told: set[tuple[Thing, str]]
) -> None:
    for course in supplies.courses:
        if (course.actor, course.supply.name) in told or course.unknown is not None:
            continue
        if course.surely_above(ZERO):
            continue
        empty = course.falls_below(ZERO)
        if empty is not None and course.assumed is None:
            found.append(Low("supply-may-run-out", course, empty))
        elif empty is not None:
            report(
                "not-decided",
                flow.excursion.decl,
                what="supply",
                excursion=flow.excursion,
                actor=course.actor,
                supplies=[course.supply],
                reason=f"nobody says what effort it takes: {_doing(course.assumed.step if course.assumed else None)}",
            )


MOST = 4  # steps told


class Low(NamedTuple):
    """A supply that falls too low, and when."""

    rule: str
    course: Course
    at: Fraction


def _tell(flow: ExcursionFlow, found: list[Low], report: Report) -> None:
    together: dict[tuple[str, Thing], list[Low]] = {}
    for one in found:
        together.setdefault((one.rule, one.course.actor), []).append(one)
    for (rule, actor), lows in together.items():
        first, *rest = sorted(lows, key=lambda one: one.at)
        course, at = first.course, first.at
        drawn, waited = drawn_until(course, at)
        now = course.draw_at(at)
        report(
            rule,
            _place(flow, course, at, now),
            flow=flow,
            actor=actor,
            supply=course.supply,
            course=course,
            at_time=at,
            step=now.step if now is not None else None,
            drawn=drawn,
            waited=waited,
            others=[(one.course.supply, one.at) for one in rest],
        )


def drawn_until(course: Course, at: Fraction) -> tuple[list[Drawn], Fraction]:
    """The steps that drew most until then, in order of time, and what waiting drew."""
    by_step: dict[int, Drawn] = {}
    waited = ZERO
    for draw in course.draws:
        if draw.since >= at:
            break
        amount = draw.rate * (min(draw.until, at) - draw.since)
        if draw.step is None:
            waited += amount
            continue
        before = by_step[draw.step.index].amount if draw.step.index in by_step else ZERO
        by_step[draw.step.index] = Drawn(draw.step, before + amount, draw.before - amount)
    most = sorted(by_step.values(), key=lambda one: (-one.amount, one.step.index))[:MOST]
    return sorted(most, key=lambda one: one.step.index), waited


def _place(flow: ExcursionFlow, course: Course, at: Fraction, now: Draw | None) -> Span:
    """The step that runs then; while its actor waits, the one waited for; after the last, that."""
    if now is not None and now.step is not None:
        return now.step.entry.at
    steps = [draw.step for draw in course.draws if draw.step is not None]
    later = [draw.step for draw in course.draws if draw.step is not None and draw.since >= at]
    if later or steps:
        return (later[0] if later else steps[-1]).entry.at
    return flow.excursion.decl
