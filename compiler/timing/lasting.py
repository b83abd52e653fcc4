"""Rules about the clock: ``never … longer than D``, ``never … again within D`` and ``always … every D``, over the
excursions of a campaign.

By the nominal times the stretches in which a rule's literals hold are found exactly (`truth`), and joined across
excursions where one starts as the other ends; how long lies between those is known from their dates. For other
durations a bound is proved (`cells`, `spread`), or a day found that breaks the rule; else it is not decided.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow, Flow, Step
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Excursion, Rule, World
from jackstay.source.spans import Span
from jackstay.timing.dates import began
from jackstay.timing.lasting_again import check_again
from jackstay.timing.lasting_days import check_other_days
from jackstay.timing.lasting_limits import Limits
from jackstay.timing.records import Times
from jackstay.timing.renewals import Renewal, renewals
from jackstay.timing.schedule import schedule
from jackstay.timing.truth import Case, Held, cases_of, stretches

Report = Callable[..., None]
ZERO = Fraction(0)


class Piece(NamedTuple):
    """What one excursion has of a stretch."""

    flow: ExcursionFlow
    held: Held


class Joined(NamedTuple):
    """A stretch through one or more excursions. gaps: seconds between a piece and the next; None: no dates."""

    pieces: tuple[Piece, ...]
    gaps: tuple[Fraction | None, ...]


class Point(NamedTuple):
    """A moment of a stretch: seconds from the start of the excursion of a piece. step: what happens then, if a step."""

    piece: int
    at: Fraction
    step: Step | None


def check_clock_rules(world: World, flow: Flow, among: Iterable[ExcursionFlow] | None = None) -> None:
    """`check_lasting` of the campaign's excursions, or of these; what is found goes to the flow's own problems."""
    times: dict[ExcursionFlow, Times] = {}
    for one in flow.excursions if among is None else among:
        found = schedule(one)
        if found is not None:
            times[one] = found

    def report(rule: str, at: Span, /, **facts: Any) -> None:
        flow.problems.append(Problem(rule, at, facts))

    check_lasting(world, flow, times, report)


def check_lasting(world: World, flow: Flow, times: Mapping[ExcursionFlow, Times], report: Report) -> None:
    """Report ``lasts-too-long``, ``may-last-too-long``, ``not-renewed``, ``may-not-be-renewed`` and ``not-decided``.

    times: of the excursions that are to be judged, nominal. Each finding's facts: flow, rule, tests (what holds),
    binding, goal (what is not renewed, or None), since and until (steps or None: the excursion's start and end),
    since_flow, seconds, at_least (more, if there are days between excursions that nobody has dated), limit."""
    rules = [rule for rule in world.rules if rule.on_clock]
    flown = [one for one in flow.excursions if one.complete and one in times]
    if not rules or not flown:
        return
    teller = Teller(report)
    cases: list[Case] = []
    judge = Judge(world, State(0))
    for rule in rules:
        found = None if _needs_tasks(rule) else cases_of(rule, judge)
        if found is None:
            reason = "it speaks of whether tasks are done" if _needs_tasks(rule) else "it has too many cases here"
            for one in flown:
                teller.undecided(rule, one.excursion, reason)
        cases += found or ()
    held: dict[ExcursionFlow, list[list[Held]]] = {}
    made: dict[ExcursionFlow, list[list[Renewal]]] = {}
    for one in flown:
        held[one] = stretches(world, one, times[one].start, times[one].end, cases)[0]
        made[one] = renewals(world, one, cases)
    for number, case in enumerate(cases):
        if case.rule.again is not None:
            check_again(world, case, [(one, times[one], held[one][number]) for one in flown], teller)
            continue
        for joined in _joined(flown, held, times, number):
            if case.rule.longer_by is not None:
                _judge_by(joined, case, times, teller)
                continue
            limit = case.rule.longer_than or case.rule.every
            assert limit is not None
            if case.rule.longer_than is not None:
                whole = joined.pieces[0].held, joined.pieces[-1].held
                last = len(joined.pieces) - 1
                points = [Point(0, whole[0].since, whole[0].began), Point(last, whole[1].until, whole[1].ended)]
                _judge(joined, points, case, limit.value, times, teller, None)
                continue
            for n, goal in enumerate(case.goal):
                _judge(joined, _points(joined, made, times, number, n), case, limit.value, times, teller, goal)
    for one in flown:
        if any(triple is not None and not triple.certain for triple in times[one].triples):
            check_other_days(world, one, times[one], cases, made[one], teller)


def _needs_tasks(rule: Rule) -> bool:
    return any(test.op == "done" for test in (*rule.tests, *rule.meanwhile))


class Teller:
    """Reports, each thing once."""

    def __init__(self, report: Report) -> None:
        self.report = report
        self.told: set[tuple[Any, ...]] = set()
        self.broken: set[tuple[int, ExcursionFlow]] = set()  # rules already found broken in an excursion, by id

    def undecided(self, rule: Rule, excursion: Excursion, reason: str) -> None:
        key = ("undecided", id(rule), excursion, reason)
        if key not in self.told:
            self.told.add(key)
            self.report("not-decided", rule.decl, what="rule", rule=rule, excursion=excursion, reason=reason)

    def tell(
        self, name: str, case: Case, flow: ExcursionFlow, since: Step | None, until: Step | None, **facts: Any
    ) -> None:
        self.broken.add((id(case.rule), flow))
        things = tuple(sorted(thing.index for thing in case.binding))
        key = (name, id(case.rule), flow, things, since and since.index, until and until.index)
        if key in self.told:
            return
        self.told.add(key)
        step = since or until
        told = {"limit": case.rule.longer_than or case.rule.every, **facts}
        self.report(
            name,
            step.entry.at if step is not None else flow.excursion.decl,
            flow=flow,
            rule=case.rule,
            tests=case.tests,
            binding=case.binding,
            since=since,
            until=until,
            **told,
        )


# --- stretches through several excursions ----------------------------------------------------------------------------


def _joined(
    flown: Sequence[ExcursionFlow],
    held: Mapping[ExcursionFlow, list[list[Held]]],
    times: Mapping[ExcursionFlow, Times],
    case: int,
) -> list[Joined]:
    """Every stretch of a case that nothing goes on with."""
    by_excursion = {one.excursion: one for one in flown}
    running: dict[ExcursionFlow, Joined] = {}  # stretches that hold at an excursion's end
    over: list[Joined] = []
    gone_on: set[ExcursionFlow] = set()
    for flow in flown:
        previous = by_excursion.get(flow.excursion.previous) if flow.excursion.previous is not None else None
        carried = running.get(previous) if previous is not None else None
        for one in held[flow][case]:
            joined = Joined((Piece(flow, one),), ())
            if one.began is None and one.since == 0 and carried is not None and previous is not None:
                gap = _gap(previous, flow, times)
                joined = Joined((*carried.pieces, *joined.pieces), (*carried.gaps, gap))
                gone_on.add(previous)
            if one.ended is None:
                running[flow] = joined
            else:
                over.append(joined)
    return over + [joined for flow, joined in running.items() if flow not in gone_on]


def _gap(before: ExcursionFlow, after: ExcursionFlow, times: Mapping[ExcursionFlow, Times]) -> Fraction | None:
    """Seconds from the end of one excursion to the start of the next; None where a date or a duration is missing, or
    the dates have the next begin before that."""
    first, second = began(before.excursion), began(after.excursion)
    if first is None or second is None or times[before].makespan_open:
        return None
    gap = second - first - times[before].makespan
    return gap if gap >= 0 else None


def _between(joined: Joined, a: Point, b: Point) -> tuple[Fraction, bool]:
    """Seconds from one point of a stretch to a later one, and whether that is all of them."""
    if a.piece == b.piece:
        return b.at - a.at, True
    pieces, gaps = joined.pieces, joined.gaps[a.piece : b.piece]
    total = pieces[a.piece].held.until - a.at + b.at - pieces[b.piece].held.since
    total += sum((piece.held.until - piece.held.since for piece in pieces[a.piece + 1 : b.piece]), ZERO)
    return total + sum((gap for gap in gaps if gap is not None), ZERO), None not in gaps


def _points(
    joined: Joined,
    made: Mapping[ExcursionFlow, list[list[Renewal]]],
    times: Mapping[ExcursionFlow, Times],
    case: int,
    goal: int,
) -> list[Point]:
    """The beginning of a stretch, every renewal in it, its end."""
    first, last = joined.pieces[0].held, joined.pieces[-1].held
    points = [Point(0, first.since, first.began)]
    for n, piece in enumerate(joined.pieces):
        ends = times[piece.flow].end
        new = [one.step for one in made[piece.flow][case] if one.goal == goal]
        new = [step for step in new if piece.held.since <= ends[step.index] <= piece.held.until]
        points += [Point(n, ends[step.index], step) for step in sorted(new, key=lambda s: (ends[s.index], s.index))]
    return [*points, Point(len(joined.pieces) - 1, last.until, last.ended)]


def _judge(
    joined: Joined,
    points: Sequence[Point],
    case: Case,
    limit: Fraction,
    times: Mapping[ExcursionFlow, Times],
    teller: Teller,
    goal: Any,
) -> None:
    """Whether no two neighbouring points are further apart than the limit."""
    for a, b in pairwise(points):
        flow = joined.pieces[b.piece].flow
        seconds, all_known = _between(joined, a, b)
        if _is_open(times[joined.pieces[a.piece].flow], a) or _is_open(times[flow], b):
            if not any(step.entry.hole for step in flow.steps):  # a hole speaks for itself
                reason = "some steps have no duration, so that nobody knows for how long"
                teller.undecided(case.rule, flow.excursion, reason)
        elif seconds > limit:
            teller.tell(
                "lasts-too-long" if goal is None else "not-renewed",
                case,
                flow,
                a.step if a.piece == b.piece else None,
                b.step,
                goal=goal,
                since_flow=joined.pieces[a.piece].flow,
                since_step=a.step,
                seconds=seconds,
                at_least=not all_known,
            )
            return
        elif not all_known:
            teller.undecided(case.rule, flow.excursion, _undated(joined, a, b))


def _judge_by(joined: Joined, case: Case, times: Mapping[ExcursionFlow, Times], teller: Teller) -> None:
    """Whether a stretch keeps a limit that is worked out as it goes on."""
    lasted, first = ZERO, joined.pieces[0]
    for n, piece in enumerate(joined.pieces):
        now, held = times[piece.flow], piece.held
        points = [Point(n, held.since, held.began), Point(n, held.until, held.ended)]
        if any(_is_open(now, point) for point in points):
            if not any(step.entry.hole for step in piece.flow.steps):
                reason = "some steps have no duration, so that nobody knows for how long"
                teller.undecided(case.rule, piece.flow.excursion, reason)
            return
        found, known = Limits(piece.flow, case).exceeded(held, lasted, now.start, now.end)
        gaps = joined.gaps[:n]
        if not known:
            reason = "what it is to be looked up by lies beyond the table, or has no value"
            teller.undecided(case.rule, piece.flow.excursion, reason)
        if found is not None:
            teller.tell(
                "lasts-too-long",
                case,
                piece.flow,
                held.began if n == 0 else None,
                held.ended if found.ended else None,
                goal=None,
                since_flow=first.flow,
                since_step=first.held.began,
                seconds=found.seconds,
                at_least=None in gaps or not found.ended,
                limit=found.limit,
            )
            return
        if None in gaps:
            teller.undecided(case.rule, piece.flow.excursion, _undated(joined, Point(0, ZERO, None), points[0]))
        gap = joined.gaps[n] if n < len(joined.gaps) else None
        lasted += held.until - held.since + (gap or ZERO)


def _undated(joined: Joined, a: Point, b: Point) -> str:
    names = [piece.flow.excursion.name for piece in joined.pieces[a.piece : b.piece + 1]]
    words = " and ".join((", ".join(names[:-1]), names[-1]))
    if all(began(piece.flow.excursion) is not None for piece in joined.pieces[a.piece : b.piece + 1]):
        return f"by their dates one of {words} begins before the one before it is over"
    return f"how long lies between {words} is not said: each would have to say the date and time at which it begins"


def _is_open(times: Times, point: Point) -> bool:
    """Whether a point's time is only a lower bound."""
    if point.step is None:
        return point.at > 0 and times.makespan_open
    index = point.step.index
    return times.end_open[index] if point.at == times.end[index] else times.start_open[index]
