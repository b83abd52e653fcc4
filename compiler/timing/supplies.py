"""What each actor has left of each supply, all through an excursion: exact, and linear from one change to the next.

A supply is full when the excursion's clock starts. While a step runs, everybody whom it occupies draws on it at the
effort that the step's action states; who waits draws at the ``idle`` effort of their kind. It is in use until the
clock stops and its actor is inside. A property or place that the ``drains`` formula reads counts as it was until the
step that changes it is over. Where an action states no effort the heaviest word of the campaign is taken: what lasts
even so is decided, anything else is not.

Most supplies last, and the sums of an actor's time show it (`Course.surely_above`); only of those that may not, or
that somebody wants to see, the course is followed from stretch to stretch, in whole ticks and whole parts of a unit.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from fractions import Fraction
from math import ceil, lcm
from typing import Any, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State, is_inside
from jackstay.model.records import Effort, EffortRate, Formula, PropertyValue, Supply, Thing, World
from jackstay.timing.formulas import evaluate, leaves
from jackstay.timing.records import Run, Times

ZERO = Fraction(0)
Rates = Mapping[str, "Fraction | None"]  # amount a second at each effort word; "" where no effort is stated
Sums = Sequence[tuple[Rates, Mapping[str, int]]]  # ticks at each effort word, by the rates that hold meanwhile


class Spell(NamedTuple):
    """A stretch of an actor's time, in ticks. step: None while waiting."""

    since: int
    until: int
    step: Step | None
    effort: Effort | None


def _word(effort: Effort | None) -> str:
    return effort.name if effort is not None else ""


class Stint:
    """An actor's time from the clock's start until supplies are no longer in use: own steps, and waits between."""

    def __init__(self, actor: Thing, steps: Sequence[Step], run: Run, until: int) -> None:
        self.actor = actor
        self.steps = steps
        self.run = run
        self.since = run.clock_zero
        self.until = max(until, run.clock_zero)

    @property
    def spells(self) -> Iterator[Spell]:
        """In order, without a gap."""
        start, end, until = self.run.start, self.run.end, self.until
        idle = self.actor.kind.idle
        at = self.since
        for step in self.steps:
            begun, over = start[step.index], end[step.index]
            if over <= at:
                continue
            if begun >= until:
                break
            if begun > at:
                yield Spell(at, begun, None, idle)
                at = begun
            over = min(over, until)
            yield Spell(at, over, step, step.action.effort if step.action is not None else idle)
            at = over
        if at < until:
            yield Spell(at, until, None, idle)

    def ticks(self) -> dict[str, int]:
        """How long at each effort word: what `spells` add up to, in one pass."""
        since, until, idle = self.since, self.until, self.actor.kind.idle
        start, end = self.run.start, self.run.end
        spent: dict[int, int] = {}
        efforts: dict[int, Effort | None] = {id(idle): idle}
        for step in self.steps:
            i = step.index
            begun, over = start[i], end[i]
            time = (over if over < until else until) - (begun if begun > since else since)
            if time > 0:
                effort = step.action.effort if step.action is not None else idle
                key = id(effort)
                if key in spent:
                    spent[key] += time
                else:
                    spent[key], efforts[key] = time, effort
        waited = until - since - sum(spent.values())
        if waited:
            spent[id(idle)] = spent.get(id(idle), 0) + waited
        return _by_word((efforts[key], time) for key, time in spent.items())


def _by_word(times: Iterable[tuple[Effort | None, int]]) -> dict[str, int]:
    found: dict[str, int] = {}
    for effort, time in times:
        name = _word(effort)
        found[name] = found.get(name, 0) + time
    return found


class Draw(NamedTuple):
    """A stretch at one rate (amount a second), in seconds from the excursion's start. step: None while waiting. rates:
    what every effort would draw. before: the amount as it begins."""

    since: Fraction
    until: Fraction
    step: Step | None
    effort: Effort | None
    rate: Fraction
    rates: Rates
    before: Fraction

    @property
    def drawn(self) -> Fraction:
        return self.rate * (self.until - self.since)


class _Bend(NamedTuple):
    """A `Draw` in ticks and in so many parts of a unit that rates and amounts are whole."""

    since: int | Fraction  # a fraction where a store was full again
    until: int | Fraction
    spell: Spell
    rates: Rates
    rate: int
    before: int


class Course:
    """One supply of one actor from ``zero`` to ``end`` (seconds from the excursion's start).

    rates: every table of rates that holds at some time. assumed: the first stretch for which no effort is stated, where
    the formula asks for it. unknown: the first stretch whose rate nobody can know; then the course has no amounts.
    open_end: a duration is missing, so all is at best."""

    def __init__(self, supply: Supply, stint: Stint, pieces: "Pieces", open_end: bool) -> None:
        self.actor = stint.actor
        self.supply = supply
        self.open_end = open_end
        self.rates: list[Rates] = [table for table, _ in pieces.sums]
        self._stint = stint
        self._pieces = pieces
        self._scale = scale = stint.run.scale
        self._bends: list[_Bend] | None = None
        self._draws: list[Draw] | None = None
        self._starts: list[Fraction] = []
        numbers = [rate for table in self.rates for rate in table.values() if rate is not None]
        # so many parts to the unit that every rate is whole, a tick
        self._parts = lcm(supply.amount.value.denominator, *(rate.denominator for rate in numbers)) * scale
        used = stint.until > stint.since
        self.zero = Fraction(stint.since, scale) if used else ZERO
        self.end = Fraction(stint.until, scale) if used else ZERO
        self.assumed: Spell | None = None
        self.unknown: Spell | None = None
        sums = pieces.sums
        if supply.drains is not None and _mentions(supply.drains, EffortRate) and any("" in one for _, one in sums):
            self.assumed = next((spell for spell, _ in pieces.each() if spell.effort is None), None)
        if any(table[name] is None for table, times in sums for name in times):
            self.unknown = next((spell for spell, table in pieces.each() if table[_word(spell.effort)] is None), None)

    @property
    def draws(self) -> list[Draw]:
        """Every stretch, in order. Raises ValueError where the course is unknown."""
        if self._draws is None:
            self._draws = [self._draw(bend) for bend in self._bent()]
            self._starts = [draw.since for draw in self._draws]
        return self._draws

    def _draw(self, bend: _Bend) -> Draw:
        spell = bend.spell
        since, until = (Fraction(t, self._scale) for t in (bend.since, bend.until))
        rate, before = Fraction(bend.rate * self._scale, self._parts), Fraction(bend.before, self._parts)
        return Draw(since, until, spell.step, spell.effort, rate, bend.rates, before)

    def _bent(self) -> list[_Bend]:
        if self._bends is None:
            self._bends = list(self._walk())
        return self._bends

    def _walk(self) -> Iterator[_Bend]:
        parts, scale = self._parts, self._scale
        whole = {
            id(table): {name: None if rate is None else int(rate * parts / scale) for name, rate in table.items()}
            for table in self.rates
        }
        full = left = int(self.supply.amount.value * parts)
        for spell, table in self._pieces.each():
            rate = whole[id(table)][_word(spell.effort)]
            if rate is None:
                raise ValueError("nobody knows how fast this is drawn")
            since: int | Fraction = spell.since
            until = spell.until
            if rate < 0 and left - rate * (until - spell.since) > full:
                # what fills up stays full
                brim = since + Fraction(full - left, -rate)
                if brim > since:
                    yield _Bend(since, brim, spell, table, rate, left)
                since, rate, left = brim, 0, full
            yield _Bend(since, until, spell, table, rate, left)
            left -= rate * (until - spell.since)

    @property
    def left_at_end(self) -> Fraction:
        """Below nothing where it does not last."""
        draws = self.draws
        return draws[-1].before - draws[-1].drawn if draws else self.supply.amount.value

    def amount_at(self, at: Fraction) -> Fraction:
        """What is left at a moment (below nothing once it has run out); full before the clock starts."""
        draw = self.draw_at(at)
        if draw is None:
            return self.supply.amount.value
        return draw.before - draw.rate * (min(at, draw.until) - draw.since)

    def falls_below(self, level: Fraction) -> Fraction | None:
        """The moment from which on less than ``level`` is left, the first time; None if that never comes."""
        exact = level * self._parts
        enough = ceil(exact)
        for bend in self._bent():
            if bend.before < enough:
                return Fraction(bend.since) / self._scale
            if bend.rate > 0 and bend.before - bend.rate * (bend.until - bend.since) < enough:
                return (bend.since + (bend.before - exact) / bend.rate) / self._scale
        return None

    def lasts(self, at: Fraction, effort: Effort | None) -> Fraction | None:
        """Seconds until empty from a moment on, at that effort, all else as it is then; None: for ever."""
        draws = self.draws
        n = max(bisect_right(self._starts, at) - 1, 0)
        if not draws:
            return None
        rate = draws[n].rates[_word(effort)]
        if rate is None:
            raise ValueError("nobody knows how fast this is drawn")
        return max(self.amount_at(at), ZERO) / rate if rate > 0 else None

    def draw_at(self, at: Fraction) -> Draw | None:
        """The stretch that runs from a moment on."""
        draws = self.draws
        n = bisect_right(self._starts, at) - 1
        return draws[n] if n >= 0 else None

    def surely_above(self, level: Fraction) -> bool:
        """Whether it never falls below a level, from the sums alone: quick, and False where that does not decide."""
        if self.unknown is not None:
            return False
        drawn = ZERO
        for table, times in self._pieces.sums:
            for name, ticks in times.items():
                rate = table[name]
                if rate is None or rate < 0:
                    return False
                drawn += rate * ticks
        return self.supply.amount.value - drawn / self._scale >= level


class Supplies:
    """The courses of an excursion's actors. For the way home: `left` and `courses`."""

    def __init__(self, courses: Sequence[Course]) -> None:
        self.courses = tuple(courses)
        self.by_actor: dict[Thing, list[Course]] = {}
        for course in courses:
            self.by_actor.setdefault(course.actor, []).append(course)

    def left(self, actor: Thing, at: Fraction, effort: Effort | None) -> tuple[Fraction, Supply] | None:
        """Seconds from ``at`` (from the excursion's start) until the first of an actor's supplies is empty, if from
        then on the actor works at that effort, and which supply that is. None: no supply that is known runs out.
        Supplies whose course is unknown are left out; they have their own finding."""
        found: tuple[Fraction, Supply] | None = None
        for course in self.by_actor.get(actor, ()):
            if course.unknown is None:
                lasts = course.lasts(at, effort)
                if lasts is not None and (found is None or lasts < found[0]):
                    found = lasts, course.supply
        return found


def supplies_of(world: World, flow: ExcursionFlow, times: Times, run: Run | None = None) -> Supplies:
    """Every supply with a ``drains`` of every actor that the excursion occupies, in the order of its columns.

    run: how the same steps go otherwise than nominally."""
    actors = [actor for actor in flow.columns if any(s.drains is not None for s in actor.kind.supplies)]
    if not actors or not flow.steps:
        return Supplies(())
    run = run or times.run
    over = max(run.end)
    own: dict[Thing, list[Step]] = {actor: [] for actor in actors}
    for step in flow.steps:
        for actor in step.cast:
            if actor in own:
                own[actor].append(step)
    inside = _inside_from(flow, run, actors) if run.clock_end < over else {}
    courses = []
    for actor in actors:
        stint = Stint(actor, own[actor], run, inside.get(actor, over))
        ticks = stint.ticks()
        for supply in actor.kind.supplies:
            if supply.drains is not None:
                pieces = _pieces(world, flow, supply.drains, stint, ticks)
                courses.append(Course(supply, stint, pieces, times.makespan_open))
    return Supplies(courses)


def _inside_from(flow: ExcursionFlow, run: Run, actors: Sequence[Thing]) -> dict[Thing, int]:
    """When each actor is inside, the clock having stopped. Who never is has no entry."""
    state = State(0)
    state.values = list(flow.start)
    end, stop = run.end, run.clock_end
    found: dict[Thing, int] = {}
    last = 0
    for i in sorted(range(len(flow.steps)), key=lambda i: (end[i], i)):
        if end[i] > stop and end[i] > last:
            at = max(last, stop)
            for actor in actors:
                if actor not in found and is_inside(state.location(actor)):
                    found[actor] = at
            if len(found) == len(actors):
                return found
        for change in flow.steps[i].changes:
            state.values[change.var] = change.after
        last = end[i]
    for actor in actors:
        if actor not in found and is_inside(state.location(actor)):
            found[actor] = max(last, stop)
    return found


class Pieces:
    """A stint with the rates that hold in it. sums: how long at each effort word, by rates."""

    def __init__(self, stint: Stint, sums: Sums, cut: list[tuple[Spell, Rates]] | None = None) -> None:
        self.sums = sums
        self._stint = stint
        self._cut = cut

    def each(self) -> Iterator[tuple[Spell, Rates]]:
        """The spells in order, cut where the rates change."""
        if self._cut is not None:
            return iter(self._cut)
        return ((spell, self.sums[0][0]) for spell in self._stint.spells)


def _pieces(world: World, flow: ExcursionFlow, drains: Formula, stint: Stint, ticks: Mapping[str, int]) -> Pieces:
    efforts = list(world.efforts.values())
    if not _mentions(drains, PropertyValue):
        return Pieces(stint, [(_rates(drains, flow.start, stint.actor, efforts), ticks)] if ticks else [])
    cut = list(_cut(flow, drains, stint, efforts))
    by_rates: dict[int, tuple[Rates, list[tuple[Effort | None, int]]]] = {}
    for spell, table in cut:
        by_rates.setdefault(id(table), (table, []))[1].append((spell.effort, spell.until - spell.since))
    return Pieces(stint, [(table, _by_word(times)) for table, times in by_rates.values()], cut)


def _cut(
    flow: ExcursionFlow, drains: Formula, stint: Stint, efforts: Sequence[Effort]
) -> Iterator[tuple[Spell, Rates]]:
    """The spells, cut where what the formula reads changes, each with the rates that hold in it."""
    state, end = list(flow.start), stint.run.end
    order = [i for i in sorted(range(len(flow.steps)), key=lambda i: (end[i], i)) if flow.steps[i].changes]
    rates = _rates(drains, state, stint.actor, efforts)
    n = 0
    for spell in stint.spells:
        at = spell.since
        held: tuple[int, Rates] | None = None  # since when the same rates hold in this spell
        while at < spell.until:
            moved = False
            while n < len(order) and end[order[n]] <= at:
                for change in flow.steps[order[n]].changes:
                    state[change.var] = change.after
                moved = True
                n += 1
            if moved:
                fresh = _rates(drains, state, stint.actor, efforts)
                rates = rates if fresh == rates else fresh
            if held is not None and held[1] is not rates:
                yield spell._replace(since=held[0], until=at), held[1]
                held = None
            held = held or (at, rates)
            at = min(spell.until, end[order[n]]) if n < len(order) else spell.until
        if held is not None:
            yield spell._replace(since=held[0]), held[1]


def _rates(drains: Formula, state: Sequence[Any], actor: Thing, efforts: Sequence[Effort]) -> Rates:
    """The rate at every effort word, and (under "") at the heaviest of them."""
    found: dict[str, Fraction | None] = {
        effort.name: evaluate(drains, state, (actor,), effort=effort.rate.value) for effort in efforts
    }
    plain = evaluate(drains, state, (actor,))
    known = [rate for rate in found.values() if rate is not None]
    all_known = known and len(known) == len(found)
    found[""] = plain if plain is not None else max(known) if all_known else None
    return found


def _mentions(formula: Formula, part: type) -> bool:
    return any(isinstance(leaf, part) for leaf in leaves(formula))
