"""Every moment of the nominal plan, in stretches in which what each actor outside needs is linear: one sweep in time.

A stretch ends where a step begins or ends, where breaking off no longer pays, where a move passes a place or its two
ways home are equally long, and where the order of arrival at a way in, or a queue there, changes. Steps that take no
time are over when they begin; what holds for no time is not looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from jackstay.flow.laws import Distances
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import is_inside
from jackstay.model.records import Thing, World
from jackstay.timing.formulas import location_in
from jackstay.timing.home_choices import Choices, Piece
from jackstay.timing.home_records import At, Line, Number, Stretch, Stuck, exact
from jackstay.timing.home_search import Finder
from jackstay.timing.home_watch import Watched
from jackstay.timing.records import Times

Own = dict[Thing, list[Step]]


def going_home(flow: ExcursionFlow) -> tuple[Thing, ...]:
    """Actors who are inside at one moment of the excursion and outside at another, in the order of its columns."""
    values = list(flow.start)
    actors = [actor for actor in flow.columns if actor.place_var >= 0]
    inside: dict[Thing, set[bool]] = {actor: {is_inside(location_in(values, actor))} for actor in actors}
    places = {actor.place_var for actor in actors}
    for step in flow.steps:
        moved = False
        if len(step.route) > 2 and not all(is_inside(place) for place in step.route):
            for actor in step.cast:
                if actor in inside:
                    inside[actor].add(False)  # between two places inside
        for change in step.changes:
            values[change.var] = change.after
            moved = moved or change.var in places
        if moved:
            for actor in actors:
                if len(inside[actor]) < 2:
                    inside[actor].add(is_inside(location_in(values, actor)))
    return tuple(actor for actor in actors if len(inside[actor]) == 2)


def horizon(times: Times) -> Number | None:
    """When the first step without a duration begins: times after that are only lower bounds. None: all are known."""
    blank = [t for t, length in zip(times.start, times.durations, strict=True) if length is None]
    return exact(min(blank)) if blank else None


class _Known(NamedTuple):
    """What one actor can do, as long as they do ``step`` and nothing of ``needed`` changes."""

    step: Step | None
    out: bool
    pieces: list[Piece]
    needed: set[int]


class Sweep:
    """What there is to ask at each moment: ``finder`` and ``choices`` stand at the stretch that was last handed out.

    coarse: quick, and never too short: every step is finished first, and everybody is the last to come in."""

    def __init__(self, world: World, flow: ExcursionFlow, times: Times, coarse: bool = False) -> None:
        self.flow = flow
        self.times = times
        self.state = Watched(world.variables, flow.start)
        self.going = going_home(flow)
        self.finder = Finder(world, self.state, Distances(world), self.going, flow.excursion)
        self.choices = Choices(flow, times, self.finder, coarse)
        self.horizon = horizon(times)
        crew = (member.actor for member in flow.excursion.crew)  # somebody without a step can still go and fetch
        self.running: dict[Thing, Step | None] = dict.fromkeys([*flow.columns, *crew])
        self.changed: set[int] = set()  # what the last frame's beginning changed in the state, as codes
        self.known: dict[Thing, _Known] = {}
        self.whole: Number = 0  # the last moment of all

    def stretches(self, also: Iterable[Number] = ()) -> Iterator[Stretch]:
        """In order of time, as long as times are known. also: moments at which a stretch must end."""
        if not self.going:
            return
        for since, until in self._frames(also):
            pieces: list[tuple[Thing, Step | None, list[Piece]]] = []
            for actor in self.going:
                known = self._known(actor, since)
                if known.out:
                    pieces.append((actor, known.step, known.pieces))
            self.changed.clear()
            if pieces and self.choices.coarse:
                yield _at_worst(since, until, pieces)
            elif pieces:
                yield from _joined(since, until, pieces)

    def _known(self, actor: Thing, since: Number) -> "_Known":
        """The actor's choices from a moment until their step is over or something changes that they turn on."""
        step = self.running[actor]
        known = self.known.get(actor)
        if known is None or known.step is not step or not known.needed.isdisjoint(self.changed):
            needed = self.state.needed = set()
            location = self.state.chain(actor)
            needed.update(var for _, var in location if var >= 0)
            out = self.choices.outside(actor, step)
            pieces: list[Piece] = []
            if out:
                until = self.choices.end[step.index] if step is not None else self.whole
                pieces = self.choices.of(actor, step, since, until, self.finder.home)
            known = self.known[actor] = _Known(step, out, pieces, needed)
        return known

    def _frames(self, also: Iterable[Number]) -> Iterator[tuple[Number, Number]]:
        """Between two neighbouring moments at which something begins or ends, with the state brought up to it."""
        start, end = self.choices.start, self.choices.end
        steps = self.flow.steps
        moments = sorted({*start, *end, *also})
        self.whole = moments[-1]
        if self.horizon is not None:
            moments = [t for t in moments if t <= self.horizon]
        over = sorted(range(len(steps)), key=lambda i: (end[i], i))
        begun = sorted((i for i in range(len(steps)) if end[i] > start[i]), key=lambda i: (start[i], i))
        ended = at = 0
        for since, until in pairwise(moments):
            while ended < len(over) and end[over[ended]] <= since:
                step = steps[over[ended]]
                for change in step.changes:
                    self.changed.update(self.state.codes_of(change.var, self.state.raw(change.var), change.after))
                    self.state.put(self.state.variables[change.var], change.after)
                for actor in step.cast:
                    if self.running[actor] is step:
                        self.running[actor] = None
                ended += 1
            while at < len(begun) and start[begun[at]] <= since:
                step = steps[begun[at]]
                for actor in step.cast:
                    self.running[actor] = step
                at += 1
            if until > 0:
                yield since, until


def _at_worst(since: Number, until: Number, pieces: list[tuple[Thing, Step | None, list[Piece]]]) -> Stretch:
    """One frame in which each has one choice and comes in last of all."""
    out: list[At] = []
    stuck: list[Stuck] = []
    for actor, step, (piece,) in pieces:
        if piece.failing is not None:
            stuck.append(Stuck(actor, step, piece.failing))
            continue
        line = piece.lines[0]
        last = line.c + len(pieces) * line.way.entry
        out.append(At(actor, step, line, last + line.k * since, last + line.k * until, None))
    return Stretch(since, until, tuple(out), tuple(stuck))


def _joined(since: Number, until: Number, pieces: list[tuple[Thing, Step | None, list[Piece]]]) -> Iterator[Stretch]:
    """One frame, cut so that everybody's choices and places in the queues stay the same from cut to cut."""
    cuts = {since, until}
    for _, _, own in pieces:
        if len(own) > 1:
            cuts.update(piece.since for piece in own if since < piece.since < until)
    for begin, finish in pairwise(sorted(cuts)):
        now = [
            (actor, step, own[0] if len(own) == 1 else next(one for one in own if finish <= one.until))
            for actor, step, own in pieces
        ]
        stuck = tuple(Stuck(actor, step, piece.failing) for actor, step, piece in now if piece.failing is not None)
        moving = [(actor, step, piece.lines) for actor, step, piece in now if piece.failing is None]
        inner = _crossings([line for _, _, lines in moving for line in lines], begin, finish, len(moving))
        for a, b in pairwise([begin, *inner, finish]):
            yield Stretch(a, b, _queued(moving, a, b), stuck)


def _crossings(lines: list[Line], since: Number, until: Number, persons: int) -> list[Number]:
    """Moments inside at which one of two choices becomes shorter than the other, an arrival overtakes another, or one
    finds the way in just free: two lines so many entries apart."""
    found: set[Number] = set()
    for number, one in enumerate(lines):
        for other in lines[:number]:
            slope = one.k - other.k
            if not slope:
                continue
            gap = other.c - one.c
            entry, second = one.way.entry, other.way.entry
            apart = {0, second - entry}
            for so_many in range(1, persons):
                apart |= {so_many * entry, -so_many * entry, so_many * second, -so_many * second}
            for extra in apart:
                t = exact(Fraction(gap + extra) / slope)
                if since < t < until:
                    found.add(t)
    return sorted(found)


def _queued(moving: list[tuple[Thing, Step | None, tuple[Line, ...]]], since: Number, until: Number) -> tuple[At, ...]:
    """Who arrives when, and comes in when, in order of arrival; all of it decided in the middle of a stretch in which
    nothing of it changes."""
    twice = since + until  # everything is reckoned at twice the middle, to stay with whole numbers
    arrivals: list[tuple[Number, int, Line]] = []
    for number, (_, _, lines) in enumerate(moving):
        line = lines[0]
        if len(lines) > 1:
            line = min(lines, key=lambda one: 2 * (one.c + one.way.entry) + one.k * twice)
        arrivals.append((2 * line.c + line.k * twice, number, line))
    arrivals.sort(key=_in_order)
    free: dict[Thing | None, tuple[Number, Number, int, Thing]] = {}  # way in -> twice when, and as a line: c, k; who
    found: list[tuple[int, At]] = []
    for when, number, line in arrivals:
        actor, step, _ = moving[number]
        goal, entry = line.way.goal, line.way.entry
        c, k, ahead = line.c, line.k, None
        if entry:
            before = free.get(goal)
            if before is not None and before[0] > when:
                when, c, k, ahead = before
            free[goal] = (when + 2 * entry, c + entry, k, actor)
        c += entry
        found.append((number, At(actor, step, line, exact(c + k * since), exact(c + k * until), ahead)))
    return tuple(at for _, at in sorted(found, key=lambda one: one[0]))


def _in_order(arrival: tuple[Number, int, Line]) -> tuple[Number, int]:
    return arrival[0], arrival[1]
