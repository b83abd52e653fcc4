"""Whether a fallback keeps what the plan states about time, begun after each nominal call.

It is scheduled from there on like a plan, with the likely durations. Judged are the limit, the bounds of its steps,
supplies, the way home and rescue, and the rules about how long something lasts. The reserves count as what may be used:
this is what they are kept back for. `finish together` speaks of the plan as written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.model.records import Fallback, World
from jackstay.source.spans import Span
from jackstay.timing.bounds import check_bounds
from jackstay.timing.deadlines import Part, chain
from jackstay.timing.durations import senseless
from jackstay.timing.events import EventGraph, main_step
from jackstay.timing.paces import check_paces
from jackstay.timing.passes import Early
from jackstay.timing.records import Times
from jackstay.timing.schedule import nominal
from jackstay.timing.spliced import Spliced, ends_of_calls
from jackstay.timing.variants import FallbackFlight, Variants

Report = Callable[..., None]
ZERO = Fraction(0)

# What is told of a fallback too. A reserve may be used; what is not decided is said once for a fallback.
_TOLD = {
    "past-time",
    "too-fast",
    "too-soon-again",
    "not-within",
    "times-clash",
    "never-in-light",
    "supply-runs-out",
    "way-home-too-long",
    "no-way-home",
    "rescue-too-long",
    "lasts-too-long",
    "not-renewed",
}
_OPEN = {"not-decided", "way-home-not-known"}


class Flown(NamedTuple):
    """A fallback as flown from one call."""

    flight: FallbackFlight
    graph: EventGraph
    early: Early


def check_late_fallbacks(
    world: World, flow: Flow, one: ExcursionFlow, times: Times, variants: Variants, report: Report
) -> None:
    """Report ``fallback-past-limit`` once for each fallback: begun after the call that makes it latest; and
    ``fallback-runs-short`` for all else that is stated about time and does not hold in it, each thing once, unless it
    does not hold in the plan as written either. To be asked when that has been judged."""
    unsure = ("fallback-may-fail", "not-decided")
    untold = {problem.facts.get("fallback") for problem in one.problems if problem.rule in unsure}
    for fallback in one.excursion.fallbacks:
        if fallback in untold:
            continue  # whether it can be flown at all comes first, and that is told
        every = list(_flown(fallback, times, variants))
        late = _past_limit(one, fallback, every, times, report)
        _Judged(world, flow, one, times, report, late).all(fallback, every)


def _flown(fallback: Fallback, times: Times, variants: Variants) -> Iterator[Flown]:
    for flight in variants.fallback(fallback, times):
        graph = EventGraph(flight.flow, also=(flight.begins,))
        graph.begin_at(flight.begins)
        early = nominal(graph)
        if early is not None:
            yield Flown(flight, graph, early)


def _past_limit(one: ExcursionFlow, fallback: Fallback, every: Sequence[Flown], times: Times, report: Report) -> bool:
    limit = one.excursion.limit
    if limit is None:
        return False
    worst: tuple[Fraction, FallbackFlight, tuple[Part, ...]] | None = None
    for flight, graph, early in every:
        stop = graph.event_of(one.excursion.clock_ends) if one.excursion.clock_ends is not None else None
        end = graph.seconds(early.at(stop) if stop is not None else max(early.end, default=graph.begins))
        if worst is None or end > worst[0]:
            worst = (end, flight, chain(graph, early, stop))
    if worst is None:
        return False
    end, flight, parts = worst
    late = end - times.clock_zero - limit.value
    if late > 0:
        report(
            "fallback-past-limit",
            fallback.decl,
            fallback=fallback,
            call=flight.call.step,
            begins=flight.begins,
            end=end,
            zero=times.clock_zero,
            late=late,
            chain=parts,
        )
    return late > 0


class _Judged:
    """What is wrong in the fallbacks of one excursion, but for the limit. late: a fallback is past it."""

    def __init__(self, world: World, flow: Flow, one: ExcursionFlow, times: Times, report: Report, late: bool) -> None:
        self.world = world
        self.flow = flow
        self.one = one
        self.times = times
        self.report = report
        known = [*one.problems, *flow.problems]
        self.told = {key for problem in known for key in _keys(problem)}
        # what is too long as a whole is too long from everywhere
        self.late = late or any(problem.rule == "past-limit" for problem in known)

    def all(self, fallback: Fallback, every: Sequence[Flown]) -> None:
        open_: list[Problem] = []
        for flown in every:
            for problem in self._problems(flown, open_):
                if problem.rule in _TOLD and not self.told.intersection(_keys(problem)):
                    self.told.update(_keys(problem))
                    self._tell(problem.at, flown, problem=problem)
            self._far_from_calls(flown)
        fresh = [problem for problem in open_ if not self.told.intersection(_keys(problem))]
        if fresh:
            about = f"the fallback {fallback.name} keeps all that is stated about time"
            reason = fresh[0].facts.get("reason") or "nobody knows how long the way home takes from there"
            self.report("not-decided", fallback.decl, what="time", about=about, reason=reason)

    def _tell(self, at: Span, flown: Flown, **facts: Any) -> None:
        flight = flown.flight
        self.report(
            "fallback-runs-short",
            at,
            fallback=flight.fallback,
            call=flight.call.step,
            begins=flight.begins,
            **{"problem": None, "missed": None, **facts},
        )

    def _problems(self, flown: Flown, open_: list[Problem]) -> list[Problem]:
        """All that the checks of a plan have to say; what is not decided goes to ``open_``."""
        found: list[Problem] = []
        flight, graph, early = flown
        excursion = self.one.excursion

        def into(flow: ExcursionFlow) -> Report:
            def report(rule: str, at: Span, /, **facts: Any) -> None:
                problem = Problem(rule, at, {"flow": flow, "excursion": excursion, **facts})
                (open_ if rule in _OPEN else found).append(problem)

            return report

        check_bounds(graph, early, into(flight.flow))
        check_paces(graph, into(flight.flow))
        untimed = any(triple is None for triple in graph.triples)
        if untimed and not any(step.entry.hole for step in flight.flow.steps):
            bad = next((one.step for one in senseless(flight.flow, graph.triples)), None)
            step = bad or next(s for s in flight.flow.steps if graph.triples[s.index] is None)
            words = step.action.text if step.action is not None else "a step"
            reason = f"`{words}` has no duration in it"
            open_.append(Problem("not-decided", flight.fallback.decl, {"reason": reason}))
        if untimed or self.times.makespan_open or not flight.flow.steps:
            return found
        spliced = Spliced(self.one, self.times, flight, graph, early)
        report = into(spliced.flow)
        self._supplies(spliced, report)
        self._way_home(spliced, report)
        self._lasting(spliced, report)
        empty = {problem.facts["actor"] for problem in found if problem.rule == "supply-runs-out"}
        return [
            problem
            for problem in found
            if not _before(problem, flight, spliced)
            and not (problem.rule == "way-home-too-long" and (self.late or problem.facts["actor"] in empty))
        ]

    def _supplies(self, spliced: Spliced, report: Report) -> None:
        if any(supply.drains is not None for actor in spliced.flow.columns for supply in actor.kind.supplies):
            from jackstay.timing.supply_checks import check_supplies

            check_supplies(self.world, spliced.flow, spliced.times, report)

    def _way_home(self, spliced: Spliced, report: Report) -> None:
        from jackstay.timing.home import check_way_home

        check_way_home(self.world, spliced.flow, spliced.times, report)

    def _lasting(self, spliced: Spliced, report: Report) -> None:
        """Rules about the clock, from the excursions before on."""
        if not any(rule.on_clock for rule in self.world.rules):
            return
        from jackstay.timing.lasting import check_lasting
        from jackstay.timing.schedule import schedule

        by_excursion = {flow.excursion: flow for flow in self.flow.excursions}
        before: list[ExcursionFlow] = []
        previous = self.one.excursion.previous
        while previous is not None and previous in by_excursion:
            before.insert(0, by_excursion[previous])
            previous = previous.previous
        times = {flow: found for flow in before if (found := schedule(flow)) is not None}
        times[spliced.flow] = spliced.times

        def of_this(rule: str, at: Span, /, **facts: Any) -> None:
            if facts.get("flow") is spliced.flow or facts.get("excursion") is self.one.excursion:
                report(rule, at, **facts)

        check_lasting(self.world, Flow(self.world, [*before, spliced.flow]), times, of_this)

    def _far_from_calls(self, flown: Flown) -> None:
        """``within`` of a call that was made before the fallback began."""
        flight, graph, early = flown
        made = ends_of_calls(self.one, self.times, flight)
        for bound, steps in graph.said():
            mark = bound.mark
            if bound.sort != "within" or mark is None or mark.entry is None or graph.event_of(mark) is not None:
                continue
            called = made.get(mark.entry.index)
            step = main_step(steps)
            end = graph.seconds(early.end[step.index])
            if called is not None and end - called > bound.value and ("missed", bound) not in self.told:
                self.told.add(("missed", bound))
                self._tell(bound.at, flown, missed=(bound, step, called, end))


# The step by which a rule about the clock is broken.
_OF_STEPS = {
    "lasts-too-long": "until",
    "not-renewed": "until",
    "may-last-too-long": "until",
    "may-not-be-renewed": "until",
    "too-soon-again": "since",
    "may-come-too-soon": "since",
}


def _before(problem: Problem, flight: FallbackFlight, spliced: Spliced) -> bool:
    """Whether it is of the time before the fallback begins: the plan itself has it then."""
    facts = problem.facts
    if problem.rule in _OF_STEPS:
        step = facts[_OF_STEPS[problem.rule]]
        return step is not None and step.index < spliced.done
    at = facts["shortfall"].since if "shortfall" in facts else facts.get("at_time", facts.get("since"))
    return at is not None and at < flight.begins


def _keys(problem: Problem) -> Iterator[tuple[Any, ...]]:
    """By which it is known again: its place, whom and what it is about."""
    facts, rule = problem.facts, problem.rule
    yield (rule, problem.at, str(facts.get("reason", "")))
    who = facts["shortfall"].partner if "shortfall" in facts else facts.get("actor")
    if who is not None and rule != "not-decided":
        yield (rule, who, facts["supply"].name if "supply" in facts else "")
    if rule in _OF_STEPS:
        yield (rule, id(facts["rule"]), tuple(thing.index for thing in facts["binding"]))
