"""Bringing in a partner: at every moment, whether somebody can reach whoever is outside and bring them inside in time.

The rescuer makes safe, goes to the partner's place by the lines that the paths ask for, and brings them home at the
pace of the vocabulary; both come in one after the other. A partner on the way between two places is met on that
stretch, from either end or, by who is on the same stretch, directly, and brought home over either end. Getting the
partner out of a seat is not counted. Whoever has no way of their own home can still be brought.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from jackstay.model.records import Path, Rescue, Thing
from jackstay.timing.home_choices import Moving, Piece, leg_at
from jackstay.timing.home_moments import Sweep
from jackstay.timing.home_records import Line, Number, Stretch, Way, exact


class Fetch(NamedTuple):
    """One way of bringing somebody in: ``c + k * t`` seconds from t until both are inside. line: making safe and the
    way to the partner, as far as a place; home: a way whose part after the meeting leads home, from a place."""

    c: Number
    k: Number
    rescuer: Thing
    line: Line
    home: Way
    rescue: Rescue

    def at(self, t: Number) -> Number:
        return exact(self.c + self.k * t)


class Shortfall(NamedTuple):
    """since: from when on, the first time, nobody can bring the partner in soon enough. worst: the moment that takes
    longest, and how. need: seconds it takes then. No fetch: there is nobody who can at ``since``."""

    partner: Thing
    rescue: Rescue
    since: Number
    worst: Number
    need: Number | None
    fetch: Fetch | None


class _Spot(NamedTuple):
    """A partner between two places (or at one, twice, no metres apart): ``c + k * t`` metres from the first of
    them."""

    first: Thing
    second: Thing
    apart: Number
    c: Number
    k: Number

    def away(self, end: int) -> tuple[Number, Number]:
        """Metres from one of the two ends, as c and k."""
        return (self.c, self.k) if end == 0 else (self.apart - self.c, -self.k)


class Rescues:
    """Looks at each stretch of a sweep, while the sweep stands at it."""

    def __init__(
        self, sweep: Sweep, told: Callable[[Thing, Number, Number, Number, Number], None] | None = None
    ) -> None:
        """told: is given each partner, two neighbouring moments, and the seconds it takes just after and just
        before."""
        self.sweep = sweep
        self.told = told
        self.able = [actor for actor in sweep.running if any(one.within is not None for one in actor.kind.rescues)]
        self.found: dict[Thing, Shortfall] = {}
        self.longest: dict[Thing, tuple[Number, Number, Fetch]] = {}  # partner -> seconds, when, how

    def shortfalls(self) -> list[Shortfall]:
        return list(self.found.values())

    def see(self, stretch: Stretch) -> None:
        if not self.able:
            return
        for actor in dict.fromkeys([*(at.actor for at in stretch.out), *(one.actor for one in stretch.stuck)]):
            rescue = next((rule for other in self.able if (rule := _rule(other, actor)) is not None), None)
            if rescue is None:
                continue
            moving = [one for who in (actor, *self.able) if (one := self._moving(who)) is not None]
            passing = {t for one in moving for t in one.passed if stretch.since < t < stretch.until}
            for since, until in pairwise(sorted({stretch.since, stretch.until, *passing})):
                self._look(actor, rescue, since, until)

    def _look(self, partner: Thing, rescue: Rescue, since: Number, until: Number) -> None:
        """Everyone who could fetch the partner, between the cuts of all their choices; nobody passes a place
        meanwhile."""
        spot = self._spot(partner, since)
        pieces: list[tuple[Thing, Rescue, list[list[Piece]]]] = []
        cuts = {since, until}
        for other in self.able:
            mine = _rule(other, partner)
            if other is partner or mine is None or spot is None:
                continue
            ends = (spot.first, spot.second) if spot.apart else (spot.first,)
            path = self.sweep.finder.network.path(*ends) if len(ends) > 1 else None
            own = [self._pieces(other, place, path, mine, since, until) for place in ends]
            cuts.update(piece.since for several in own for piece in several)
            cuts.update(t for t in (self._passing(other, spot, since),) if t is not None and since < t < until)
            pieces.append((other, mine, own))
        for begin, finish in pairwise(sorted(cuts)):
            fetches: list[Fetch] = []
            for other, mine, own in pieces:
                now = [
                    [
                        line
                        for piece in several
                        if piece.since <= begin and finish <= piece.until
                        for line in piece.lines
                    ]
                    for several in own
                ]
                assert spot is not None
                fetches += self._fetches(other, mine, spot, now, begin, finish)
            self._judge(partner, rescue, begin, finish, fetches)

    def _pieces(
        self, other: Thing, place: Thing, path: Path | None, mine: Rescue, since: Number, until: Number
    ) -> list[Piece]:
        pace, finder = mine.pace.value, self.sweep.finder
        step = self.sweep.running[other]
        return self.sweep.choices.of(other, step, since, until, lambda who: finder.rescue(who, place, pace, path))

    # --- where they are ----------------------------------------------------------------------------------------------

    def _moving(self, actor: Thing) -> Moving | None:
        step = self.sweep.running[actor]
        return self.sweep.choices.moving(actor, step) if step is not None else None

    def _spot(self, actor: Thing, since: Number) -> _Spot | None:
        moving = self._moving(actor)
        if moving is None:
            place = self.sweep.state.location(actor)
            return _Spot(place, place, 0, 0, 0) if place is not None else None
        leg = leg_at(moving, since)
        begin, finish = moving.passed[leg], moving.passed[leg + 1]
        apart = exact(moving.metres[leg + 1] - moving.metres[leg])
        speed = exact(Fraction(apart) / (finish - begin))
        return _Spot(moving.places[leg], moving.places[leg + 1], apart, exact(-speed * begin), speed)

    def _beside(self, other: Thing, spot: _Spot, since: Number) -> tuple[Number, Number] | None:
        """How far ahead of the partner somebody on the same stretch is, in metres from its first place, as c and k."""
        own = self._spot(other, since)
        if own is None or not spot.apart or {own.first, own.second} != {spot.first, spot.second}:
            return None
        c, k = own.away(0 if own.first is spot.first else 1)
        return exact(c - spot.c), exact(k - spot.k)

    def _passing(self, other: Thing, spot: _Spot, since: Number) -> Number | None:
        """When somebody on the same stretch passes the partner."""
        beside = self._beside(other, spot, since)
        return exact(-Fraction(beside[0]) / beside[1]) if beside is not None and beside[1] else None

    # --- fetching ----------------------------------------------------------------------------------------------------

    def _fetches(
        self, other: Thing, mine: Rescue, spot: _Spot, now: list[list[Line]], since: Number, until: Number
    ) -> Iterator[Fetch]:
        """Each way to the partner, by either end of the stretch, with each way home, by either."""
        slow = exact(1 / mine.pace.value)
        if not spot.apart:
            for line in now[0]:
                yield Fetch(exact(line.c + 2 * line.way.entry), line.k, other, line, line.way, mine)
            return
        quick = self.sweep.finder.a_metre(other)
        quick = slow if quick is None else quick
        homes = [min(lines, key=_homeward).way if lines else None for lines in now]
        beside, turn = self._beside(other, spot, since), self._turn(other, until)
        for end, home in enumerate(homes):
            if home is None:
                continue
            away_c, away_k = spot.away(end)
            back = _after(home) + 2 * home.entry + slow * away_c
            for start, lines in enumerate(now):
                there_c, there_k = spot.away(start)
                for line in lines:
                    c = line.c - _after(line.way) + quick * there_c + back
                    yield Fetch(exact(c), exact(line.k + quick * there_k + slow * away_k), other, line, home, mine)
            if beside is not None and turn is not None:
                gap_c, gap_k = beside
                sign = 1 if 2 * gap_c + gap_k * (since + until) > 0 else -1
                c, k = turn + quick * sign * gap_c + back, quick * sign * gap_k + slow * away_k
                direct = home._replace(parts=home.parts[home.met_parts :], met=0, met_parts=0)
                line = Line(direct.seconds or 0, 0, direct, "wait")
                yield Fetch(exact(c), exact(k), other, line, home, mine)

    def _turn(self, other: Thing, until: Number) -> Number | None:
        """How long somebody on a move takes to turn round before a moment; None: they cannot."""
        step = self.sweep.running[other]
        if step is None or step.action is None or step.action.cannot_stop:
            return None
        delay = self.sweep.choices.delay(step) or 0
        return delay if until <= self.sweep.choices.end[step.index] - delay else None

    def _judge(self, partner: Thing, rescue: Rescue, since: Number, until: Number, fetches: list[Fetch]) -> None:
        assert rescue.within is not None
        if not fetches:
            if partner not in self.found:
                self.found[partner] = Shortfall(partner, rescue, since, since, None, None)
            return
        within = exact(rescue.within.value)
        for begin, finish in pairwise(_cut(fetches, since, until)):
            best = min(fetches, key=lambda one: one.at(begin) + one.at(finish))
            first, last = best.at(begin), best.at(finish)
            if self.told is not None:
                self.told(partner, begin, finish, first, last)
            t, need = (finish, last) if last > first else (begin, first)
            if partner not in self.longest or need > self.longest[partner][0]:
                self.longest[partner] = (need, t, best)
            if need <= within:
                continue
            short = (
                begin if first > within else exact(begin + (finish - begin) * Fraction(within - first) / (last - first))
            )
            known = self.found.get(partner)
            if known is None:
                self.found[partner] = Shortfall(partner, rescue, short, t, need, best)
            elif known.need is not None and need > known.need:
                self.found[partner] = known._replace(worst=t, need=need, fetch=best)


def _rule(rescuer: Thing, partner: Thing) -> Rescue | None:
    """What the vocabulary asks of the one for the other."""
    return next(
        (one for one in rescuer.kind.rescues if one.within is not None and partner.kind.is_a(one.kind)),
        None,
    )


def _after(way: Way) -> Number:
    """Seconds of the part of an errand that comes after the meeting."""
    return exact((way.seconds or 0) - way.met)


def _homeward(line: Line) -> Number:
    return _after(line.way) + 2 * line.way.entry


def _cut(fetches: list[Fetch], since: Number, until: Number) -> list[Number]:
    """The moments at which one fetch becomes quicker than another, and the two ends."""
    moments = {since, until}
    for number, one in enumerate(fetches):
        for other in fetches[:number]:
            if one.k != other.k:
                t = exact(Fraction(other.c - one.c) / (one.k - other.k))
                if since < t < until:
                    moments.add(t)
    return sorted(moments)
