"""Whether an excursion keeps its times. Reports problems; the rules of the family ``time`` own the words.

Judged nominally: every step takes its likely time and begins as early as may be. Then with nature unkind (`slow_days`),
without droppable tasks, and into each fallback. An excursion that states nothing about time costs next to nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from fractions import Fraction
from functools import partial
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow, Flow, Step
from jackstay.flow.state import is_inside
from jackstay.model.records import Action, Thing, World
from jackstay.source.spans import Span
from jackstay.timing.bounds import all_bounds, check_bounds, light_not_said
from jackstay.timing.deadlines import chain, limit_of
from jackstay.timing.durations import Senseless, senseless
from jackstay.timing.events import ORIGIN, EventGraph
from jackstay.timing.formulas import location_in
from jackstay.timing.paces import check_paces
from jackstay.timing.passes import Early
from jackstay.timing.records import Times
from jackstay.timing.schedule import nominal, times_of
from jackstay.timing.variants import Variants

Report = Callable[..., None]
ZERO = Fraction(0)


class Clockwork:
    """How times are judged. (`keeping` has a clockwork of its own: it gives what it found before.)"""

    def judge(self, world: World, one: ExcursionFlow) -> tuple[Times, Variants] | None:
        """Report what is wrong with the times of one excursion. None: it has no times to judge."""
        return _check(world, one)

    def judge_fallbacks(self, world: World, flow: Flow, one: ExcursionFlow, found: tuple[Times, Variants]) -> None:
        from jackstay.timing.late_fallbacks import check_late_fallbacks

        check_late_fallbacks(world, flow, one, *found, reporter(one, one.problems))


def check_times(
    world: World, flow: Flow, among: Iterable[ExcursionFlow] | None = None, clockwork: Clockwork | None = None
) -> None:
    """Report what is wrong with the times of each excursion (or of these) into its flow."""
    clockwork = clockwork or Clockwork()
    sound = [one for one in (flow.excursions if among is None else among) if one.complete]
    for one in flow.excursions:
        if one.complete and one not in sound and _states_times(one):
            about = f"{one.excursion.name} keeps its times"
            reason = "its other findings come first: which steps there are, and what they do, hangs on them"
            at = one.excursion.decl if one.excursion.limit is None else one.excursion.clock_at
            reporter(one, one.problems)("not-decided", at, what="time", about=about, reason=reason)
    flown: list[tuple[ExcursionFlow, tuple[Times, Variants]]] = []
    for one in sound:
        found = clockwork.judge(world, one) if _speaks_of_time(one) else None
        if found is not None and one.excursion.fallbacks:
            flown.append((one, found))
    if sum(one.excursion.begins is not None for one in flow.excursions) > 1:
        from jackstay.timing.dates import check_dates

        check_dates(flow.excursions, sound)
    if any(rule.on_clock for rule in world.rules):
        from jackstay.timing.lasting import check_clock_rules

        check_clock_rules(world, flow, sound)
    for one, found in flown:
        clockwork.judge_fallbacks(world, flow, one, found)


def _states_times(one: ExcursionFlow) -> bool:
    """Whether the excursion itself says what its times have to be."""
    excursion = one.excursion
    return excursion.limit is not None or excursion.together is not None or any(True for _ in all_bounds(one))


def _speaks_of_time(one: ExcursionFlow) -> bool:
    """Whether anything in the excursion states a time: a line of its own, a bound, a bracket, an action's ``takes``."""
    excursion = one.excursion
    if excursion.limit is not None or excursion.light is not None or excursion.together is not None:
        return True
    return any(
        (step.action is not None and step.action.takes is not None)
        or step.entry.duration is not None
        or step.entry.bounds
        or step.entry.task.bounds
        for step in one.steps
    )


def reporter(one: ExcursionFlow, problems: list[Problem]) -> Report:
    """``report(rule, at, **facts)``: every problem also knows its flow and its excursion."""

    def report(rule: str, at: Span, /, **facts: Any) -> None:
        problems.append(Problem(rule, at, {"flow": one, "excursion": one.excursion, **facts}))

    return report


def _check(world: World, one: ExcursionFlow) -> tuple[Times, Variants] | None:
    """Judge the plan as it is written, and without what may be dropped. None: it has no times to judge."""
    report = reporter(one, one.problems)
    graph = EventGraph(one)
    excursion = one.excursion
    _durations(graph, report)
    check_paces(graph, report)
    if excursion.limit is not None and excursion.clock is None:
        report("limit-without-clock", excursion.clock_at)
    if excursion.light is None:
        light_not_said(graph, report)
    others = _others(graph)
    asked = excursion.limit is not None or excursion.together is not None or graph.at_most or graph.light
    early = nominal(graph) if asked or others or excursion.fallbacks else None
    if early is None:
        return None
    times = times_of(graph, early)
    called = excursion.clock_starts is not None or excursion.clock_ends is not None
    if called and not times.makespan_open and times.clock_end <= times.clock_zero:
        starts, stops = (_clock(at) for at in (times.clock_zero, times.clock_end))
        report("bad-time", excursion.clock_at, what="clock", text=stops, other=starts)
        return None
    variants = Variants(world, one)
    found: list[Problem] = []
    check_bounds(graph, early, reporter(one, found))
    one.problems += found
    if any(bound.sort != "not-before" for bound in all_bounds(one)):
        _dropped(variants, report, found)
    if excursion.limit is not None:
        _limit(graph, early, variants, report)
    if excursion.together is not None:
        _together(graph, times, report)
    if excursion.limit is not None or graph.at_most:
        from jackstay.timing.slow_days import check_slow_days

        check_slow_days(graph, early, variants, report)
    limit = limit_of(graph, reserve=False)
    if limit is not None and limit.late(graph, early) > 0:
        report = _but_late(report, times.clock_zero + graph.seconds(limit.gap))
    if any(problem.rule == "bad-duration" for problem in one.problems):
        report = _without(report, "not-decided")  # for want of a duration that has its own finding
    for check in others:
        check(world, one, times, report)
    return times, variants


def _but_late(report: Report, end: Fraction) -> Report:
    """Leaves out what follows from being too long as a whole, which is told once: a way home from there, a supply that
    would have lasted for the limit. end: when the limit is over, in seconds from the excursion's start."""

    def told(rule: str, at: Span, /, **facts: Any) -> None:
        if facts.get("at_time", ZERO) < end:
            report(rule, at, **facts)

    return _without(told, "way-home-too-long")


def _without(report: Report, left_out: str) -> Report:
    def told(rule: str, at: Span, /, **facts: Any) -> None:
        if rule != left_out:
            report(rule, at, **facts)

    return told


def _clock(seconds: Fraction) -> str:
    """``1:39``: whole minutes begun since the excursion's start, as all times of it are told."""
    return f"{int(seconds // 3_600)}:{int(seconds % 3_600 // 60):02d}"


Check = Callable[[World, ExcursionFlow, Times, Report], None]


def _others(graph: EventGraph) -> list[Check]:
    """The checks that live by the times and judge something else, where they have anything to judge."""
    one = graph.flow
    found: list[Check] = []
    supplies = any(supply.drains is not None for actor in one.columns for supply in actor.kind.supplies)
    if supplies:
        from jackstay.timing.supply_checks import check_supplies

        found.append(partial(check_supplies, graph=graph))
    rescues = any(rescue.within is not None for actor in one.columns for rescue in actor.kind.rescues)
    if supplies or rescues or one.excursion.limit is not None:
        from jackstay.timing.home import check_way_home

        found.append(check_way_home)
    return found


# --- durations -------------------------------------------------------------------------------------------------------


def _durations(graph: EventGraph, report: Report) -> None:
    """``no-duration`` once for each action, ``bad-duration`` once for each cause."""
    silent: dict[Action, list[Step]] = {}
    if None not in graph.triples:
        return
    for step in graph.flow.steps:
        if graph.triples[step.index] is None and step.action is not None and step.action.takes is None:
            silent.setdefault(step.action, []).append(step)
    for action, steps in silent.items():
        report("no-duration", steps[0].entry.at, action=action, step=steps[0], steps=steps)
    bad: dict[Hashable, list[Senseless]] = {}
    for found in senseless(graph.flow, graph.triples):
        bad.setdefault(found.key, []).append(found)
    for same in bad.values():
        first, others = same[0], [one.step for one in same[1:]]
        report("bad-duration", first.step.entry.at, others=others, **first._asdict())


# --- without what may be dropped --------------------------------------------------------------------------------------


def _dropped(variants: Variants, report: Report, known: list[Problem]) -> None:
    """The same bounds without each droppable task, and without any."""
    told = {(problem.rule, problem.at) for problem in known}
    for dropped in variants.sets():
        flown = variants.without(dropped)
        if flown is None:
            continue
        graph = EventGraph(flown, dropped)
        early = nominal(graph)
        if early is None:
            continue
        found: list[Problem] = []
        check_bounds(graph, early, reporter(flown, found))
        for problem in found:
            if (problem.rule, problem.at) not in told:
                told.add((problem.rule, problem.at))
                named = sorted(dropped, key=lambda task: (task.decl.path, task.decl.line))
                report("leans-on-droppable", problem.at, problem=problem, dropped=named, flow=flown)


# --- the limit -------------------------------------------------------------------------------------------------------


def _limit(graph: EventGraph, early: Early, variants: Variants, report: Report) -> None:
    """``past-limit``: with what each droppable task would save, in seconds."""
    limit = limit_of(graph, reserve=True)
    if limit is None:
        return
    late = limit.late(graph, early)
    if late <= 0:
        return
    saved = []
    for dropped in variants.sets():
        flown = variants.without(dropped)
        less = EventGraph(flown, dropped) if flown is not None else None
        when = nominal(less) if less is not None else None
        other = limit_of(less, reserve=True) if less is not None else None
        if less is not None and when is not None and other is not None:
            named = sorted(dropped, key=lambda task: (task.decl.path, task.decl.line))
            saved.append((named, late - other.late(less, when)))
    zero = ZERO if limit.source == ORIGIN else graph.seconds(early.at(limit.source))
    report(
        "past-limit",
        graph.flow.excursion.clock_at,
        late=late,
        zero=zero,
        chain=chain(graph, early, limit.target),
        saved=saved,
    )


# --- the end ---------------------------------------------------------------------------------------------------------


def who_go_out(one: ExcursionFlow) -> list[Thing]:
    """The actors who start inside and are outside at some moment, in the order of the crew."""
    state = list(one.start)
    inside = {actor for actor in one.columns if is_inside(location_in(state, actor))}
    out: set[Thing] = set()
    for step in one.steps:
        if step.changes:
            for change in step.changes:
                state[change.var] = change.after
            out.update(actor for actor in inside if actor not in out and not is_inside(location_in(state, actor)))
    return [member.actor for member in one.excursion.crew if member.actor in out]


def _together(graph: EventGraph, times: Times, report: Report) -> None:
    """``ends-apart``: those who go out end further apart than `finish together` allows."""
    together = graph.flow.excursion.together
    ends = {actor: times.actor_end[actor] for actor in who_go_out(graph.flow) if actor in times.actor_end}
    if together is None or len(ends) < 2:
        return
    first = min(ends, key=lambda actor: ends[actor])
    last = max(ends, key=lambda actor: ends[actor])
    apart = ends[last] - ends[first]
    if apart > together.within.value:
        waits = {actor: [delay for delay in times.delays if delay.actor is actor] for actor in ends}
        report("ends-apart", together.at, first=first, last=last, apart=apart, ends=ends, waits=waits, times=times)
    elif any(times.actor_open[actor] for actor in ends):
        why = "a step has no duration, so that somebody may end later than is known"
        report("not-decided", together.at, what="time", about="they finish together", reason=why)
