"""What an actor can do first when the plan is stopped: finish the step, break it off, turn round on a move, or
nothing.

Each choice is a line over time. What the vocabulary says: ``can stop after D, leaves …``: broken off after D, as the
step found things, and with what it leaves; ``cannot stop``, or nothing said: the step is finished. A move along the
paths can turn round anywhere unless it cannot stop. While a step runs, what others are in the middle of counts as
not yet done."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import is_inside
from jackstay.model.records import Effect, Quantified, Thing
from jackstay.timing.formulas import evaluate
from jackstay.timing.home_records import Line, Number, Way, exact
from jackstay.timing.home_search import Finder
from jackstay.timing.records import Times

Ask = Callable[[Thing], Way]


class Piece(NamedTuple):
    """The choices from one moment to another, all of them lines over the whole of it. failing: a way that cannot be
    gone, where there is no choice."""

    since: Number
    until: Number
    lines: tuple[Line, ...]
    failing: Way | None


class Moving(NamedTuple):
    """A move along the paths: the places it passes and when."""

    places: tuple[Thing, ...]
    passed: tuple[Number, ...]
    metres: tuple[Number, ...]  # from the first place


class Choices:
    """Choices of actors in the finder's state, which stands at the moment in question.

    coarse: steps are only ever finished: never shorter than what an actor can really do."""

    def __init__(self, flow: ExcursionFlow, times: Times, finder: Finder, coarse: bool = False) -> None:
        self.flow = flow
        self.coarse = coarse
        self.finder = finder
        self.state = finder.state
        self.start = [exact(t) for t in times.start]
        self.end = [exact(t) for t in times.end]
        self.next: dict[tuple[int, Thing], Step] = {}
        self.moves: dict[int, Moving | None] = {}
        last: dict[Thing, int] = {}
        for step in flow.steps:
            for actor in step.cast:
                if actor in last:
                    self.next[last[actor], actor] = step
                last[actor] = step.index

    def of(self, actor: Thing, step: Step | None, since: Number, until: Number, ask: Ask) -> list[Piece]:
        """Between two moments at which nothing begins or ends. step: what the actor is doing."""
        if step is None or step.action is None:
            way = ask(actor)
            return [_piece(since, until, [Line(exact(way.seconds or 0), 0, way, "wait", step)])]
        rest = self._rest(actor, step, ask)
        if self.coarse or step.action.cannot_stop:
            return [_piece(since, until, [rest])]
        moving = self.moving(actor, step)
        if moving is not None:
            return self._on_the_move(actor, step, moving, rest, since, until, ask)
        return self._breaking_off(actor, step, rest, since, until, ask)

    # --- to the end --------------------------------------------------------------------------------------------------

    def _rest(self, actor: Thing, step: Step, ask: Ask) -> Line:
        """Finish the step; and if there is no way from its end, and the next one begins at once and cannot be broken
        off either, that one too."""
        state = self.state
        mark = len(state.trail)
        at: Step | None = step
        until = self.end[step.index]
        while True:
            assert at is not None
            for change in at.changes:
                state.try_put(change.var, change.after)
            way = ask(actor)
            if way.seconds is not None or way.unknown is not None:
                break
            at = self.next.get((at.index, actor))
            if at is None or self.start[at.index] != until or not self._goes_on(at):
                break
            until = self.end[at.index]
        state.rewind(mark)
        return Line(exact(until + (way.seconds or 0)), -1, way, "rest", step)

    def _goes_on(self, step: Step) -> bool:
        """Whether a step could be done in this state, and once begun would be finished."""
        action, judge = step.action, self.finder.doing.judge
        if action is None or action.stops_after is not None:
            return False
        needs = (*action.needs, *action.uses, *action.during)
        return self.state.ask((step.index, "needs"), lambda: all(judge.holds(need, step.binding) for need in needs))

    # --- broken off --------------------------------------------------------------------------------------------------

    def _breaking_off(
        self, actor: Thing, step: Step, rest: Line, since: Number, until: Number, ask: Ask
    ) -> list[Piece]:
        delay = self.delay(step)
        last = exact(self.end[step.index] - delay) if delay is not None else since
        if delay is None or last <= since:
            return [_piece(since, until, [rest])]
        way = self._left(actor, step, ask)
        stop = Line(exact(delay + (way.seconds or 0)), 0, way, "stop", step)
        if last >= until:
            return [_piece(since, until, [stop, rest])]
        return [_piece(since, last, [stop, rest]), _piece(last, until, [rest])]

    def delay(self, step: Step) -> Number | None:
        """How long breaking off takes; None where the vocabulary does not say that it can be done."""
        action = step.action
        if action is None or action.stops_after is None:
            return None
        found = evaluate(action.stops_after, self.state.values, step.binding, step.length)
        return None if found is None or found < 0 else exact(found)

    def _left(self, actor: Thing, step: Step, ask: Ask) -> Way:
        """The way from what a step that is broken off leaves: all as it found it, and what its action says it leaves.
        What cannot be made true, because a general law forbids it, is passed over."""
        state, doing = self.state, self.finder.doing
        assert step.action is not None
        if not step.action.leaves:
            return ask(actor)
        mark = len(state.trail)
        doing.laws.cast = step.cast
        for test in step.action.leaves:
            if isinstance(test.a, Quantified) or isinstance(test.b, Quantified):
                continue
            doing.laws.quiet, doing.breach = False, False
            before = len(state.trail)
            made = doing.laws.apply(Effect(test, True), step.binding)
            if made is not None:
                state.trail.append((made[0], made[1]))
            if doing.breach:
                state.rewind(before)
        way = ask(actor)
        state.rewind(mark)
        return way

    # --- on the move -------------------------------------------------------------------------------------------------

    def moving(self, actor: Thing, step: Step) -> Moving | None:
        """The actor's own move along the paths, if the step is one."""
        if step.index not in self.moves:
            self.moves[step.index] = self._moving(step)
        if self.moves[step.index] is None or all(change.var != actor.place_var for change in step.changes):
            return None
        return self.moves[step.index]

    def _moving(self, step: Step) -> Moving | None:
        if step.action is None or len(step.route) < 2 or not any(one.along_paths for one in step.action.serves):
            return None
        metres: list[Number] = [0]
        for a, b in pairwise(step.route):
            metres.append(exact(metres[-1] + self.finder.network.path(a, b).length.value))
        whole = metres[-1]
        start, end = self.start[step.index], self.end[step.index]
        if not whole or end == start:
            return None
        passed = [exact(start + (end - start) * Fraction(so_far) / whole) for so_far in metres]
        return Moving(step.route, tuple(passed), tuple(metres))

    def _on_the_move(
        self, actor: Thing, step: Step, moving: Moving, rest: Line, since: Number, until: Number, ask: Ask
    ) -> list[Piece]:
        """Back to the place passed last or on to the next one, whichever is nearer home."""
        delay = self.delay(step) or 0
        last = exact(self.end[step.index] - delay)
        cuts = [since, *sorted({t for t in (*moving.passed, last) if since < t < until}), until]
        found = []
        ways = [self._at(actor, place, ask) for place in moving.places[:-1]]
        for begin, finish in pairwise(cuts):
            leg = leg_at(moving, begin)
            lines = [rest]
            if begin < last:
                back = ways[leg]
                lines.append(
                    Line(
                        exact(delay - moving.passed[leg] + (back.seconds or 0)),
                        1,
                        back,
                        "back",
                        step,
                        moving.places[leg],
                    )
                )
                if leg + 2 < len(moving.places):
                    on = ways[leg + 1]
                    c = exact(delay + moving.passed[leg + 1] + (on.seconds or 0))
                    lines.append(Line(c, -1, on, "on", step, moving.places[leg + 1]))
            found.append(_piece(begin, finish, lines))
        return _merged(found)

    def _at(self, actor: Thing, place: Thing, ask: Ask) -> Way:
        mark = len(self.state.trail)
        self.state.try_put(actor.place_var, place)
        way = ask(actor)
        self.state.rewind(mark)
        return way

    # --- outside -----------------------------------------------------------------------------------------------------

    def outside(self, actor: Thing, step: Step | None) -> bool:
        """Whether the actor is out, on the way out, or not yet in."""
        state = self.state
        if not is_inside(state.location(actor)):
            return True
        if step is None or all(state.variables[change.var].sort != "place" for change in step.changes):
            return False
        moving = self.moving(actor, step)
        if moving is not None and not all(is_inside(place) for place in moving.places):
            return True
        mark = len(state.trail)
        for change in step.changes:
            state.try_put(change.var, change.after)
        out = not is_inside(state.location(actor))
        state.rewind(mark)
        return out


def leg_at(moving: Moving, t: Number) -> int:
    """The number of the leg that is walked from t on."""
    leg = 0
    while leg + 2 < len(moving.passed) and moving.passed[leg + 1] <= t:
        leg += 1
    return leg


def _merged(pieces: list[Piece]) -> list[Piece]:
    """Pieces in which one choice is never longer than the others keep that one; neighbours with the same are one."""
    found: list[Piece] = []
    for piece in pieces:
        for line in piece.lines:
            if len(piece.lines) > 1 and all(
                line.at(t) <= other.at(t) and line.way.goal is other.way.goal
                for other in piece.lines
                for t in (piece.since, piece.until)
            ):
                piece = piece._replace(lines=(line,))
                break
        last = found[-1] if found else None
        if last is not None and len(last.lines) == len(piece.lines) == 1:
            one, other = last.lines[0], piece.lines[0]
            if one.c == other.c and one.k == other.k and one.way.goal is other.way.goal:
                found[-1] = last._replace(until=piece.until)
                continue
        found.append(piece)
    return found


def _piece(since: Number, until: Number, lines: list[Line]) -> Piece:
    good = tuple(line for line in lines if line.way.seconds is not None)
    return Piece(since, until, good, None if good else _worst(lines))


def _worst(lines: list[Line]) -> Way:
    """Why there is no way: one whose time is not known, before one that cannot be gone."""
    return next((line.way for line in lines if line.way.unknown is not None), lines[0].way)
