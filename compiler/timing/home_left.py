"""What an actor has left at a moment: of the clock's limit, and of each supply at the effort of the way home."""

from __future__ import annotations

from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Action, Supply, Thing, World
from jackstay.timing.home_records import At, Number, exact
from jackstay.timing.records import Times
from jackstay.timing.supplies import Course, Draw, Supplies, supplies_of


class Left(NamedTuple):
    """Seconds left just after the start of a stretch and just before its end, linear between. supply: None: the
    clock."""

    supply: Supply | None
    since: Number
    until: Number


class Limits:
    """The hard limit of the clock, not less the reserve, and every supply down to nothing. Asked in the order of time.
    The clock counts on for whoever is still outside when it stops.

    What is left of a supply is told in seconds, too: the way home uses up what each of its parts does, the making safe
    and the wait included; what then remains would last for so many seconds more at the hardest of these efforts."""

    def __init__(self, world: World, flow: ExcursionFlow, times: Times) -> None:
        limit = flow.excursion.limit
        self.limit = exact(limit.value) if limit is not None else None
        self.zero = exact(times.clock_zero)
        supplies: Supplies = supplies_of(world, flow, times)
        self.courses = {
            actor: [course for course in courses if course.unknown is None]
            for actor, courses in supplies.by_actor.items()
        }
        self._stocks: dict[Thing, list[_Stock]] | None = None

    @property
    def stocks(self) -> dict[Thing, list["_Stock"]]:
        if self._stocks is None:
            self._stocks = {
                actor: [_Stock(course) for course in courses if course.draws] for actor, courses in self.courses.items()
            }
        return self._stocks

    @property
    def any(self) -> bool:
        """Whether there is anything to compare a way home with."""
        return self.limit is not None or any(self.courses.values())

    @property
    def cuts(self) -> set[Number]:
        """Moments at which what is left bends."""
        return {self.zero, *(t for stocks in self.stocks.values() for stock in stocks for t in stock.starts)}

    def surely_last(self, actor: Thing, seconds: Number) -> bool:
        """Whether each of the actor's supplies lasts, at every moment, for so long at any effort: a quick answer,
        False where it does not decide."""
        for course in self.courses.get(actor, ()):
            tables = {id(table): table for table in course.rates}
            rates = [rate for table in tables.values() for rate in table.values() if rate is not None]
            if not course.surely_above(Fraction(seconds) * max(rates, default=Fraction(0))):
                return False
        return True

    def clock(self, since: Number, until: Number) -> Left | None:
        """What is left of the limit."""
        if self.limit is None:
            return None
        end = self.limit + self.zero
        return Left(None, end - max(since, self.zero), end - max(until, self.zero))

    def stocks_of(self, at: At, since: Number) -> list["Lasting"]:
        """The actor's supplies that are being used up from ``since`` on, at the rate of the way home."""
        stocks = self.stocks.get(at.actor)
        if not stocks:
            return []
        return [lasting for stock in stocks if (lasting := stock.lasting(at, since)) is not None]

    def __call__(self, at: At, since: Number, until: Number) -> list[Left]:
        """What is left over a stretch, of the clock and of each supply."""
        clock = self.clock(since, until)
        return [
            *([clock] if clock is not None else []),
            *(one.exactly(since, until) for one in self.stocks_of(at, since)),
        ]


class Lasting:
    """A supply in a stretch. need: what the way home draws per second in each of its parts, exactly and about."""

    __slots__ = ("at", "draw", "need", "supply")

    def __init__(self, supply: Supply, draw: Draw, at: At, need: "Need") -> None:
        self.supply = supply
        self.draw = draw
        self.at = at
        self.need = need

    def margin(self, t: Number, seconds: Number) -> Fraction:
        """How much is left, in seconds at the hardest effort, of one who needs so many seconds from t on."""
        line, need, draw = self.at.line, self.need, self.draw
        going = line.at(t)
        drawn = need.way + (going - (line.way.seconds or 0)) * need.safe + (seconds - going) * need.waiting
        return (draw.before - draw.rate * (t - draw.since) - drawn) / need.hardest

    def about(self, t: Number, seconds: Number) -> float:
        """The same, nearly: to see what is far from being short."""
        line, need, draw = self.at.line, self.need.rough, self.draw
        going = float(line.at(t))
        drawn = need[0] + (going - float(line.way.seconds or 0)) * need[1] + (float(seconds) - going) * need[2]
        return (float(draw.before) - float(draw.rate) * float(t - draw.since) - drawn) / need[3]

    def exactly(self, since: Number, until: Number) -> Left:
        """Below what is needed where it does not last."""
        first, last = (
            self.at.since + self.margin(since, self.at.since),
            self.at.until + self.margin(until, self.at.until),
        )
        return Left(self.supply, exact(first), exact(last))


class Need(NamedTuple):
    """What a way home draws of a supply: its parts in all, and each second of making safe, of waiting for the way in
    and coming in; the hardest of these. rough: the four in floating point."""

    way: Fraction
    safe: Fraction
    waiting: Fraction
    hardest: Fraction
    rough: tuple[float, float, float, float]


class _Stock:
    """One supply of one actor, asked in the order of time."""

    def __init__(self, course: Course) -> None:
        self.supply = course.supply
        self.draws = course.draws
        self.starts = [exact(draw.since) for draw in course.draws]
        self.now = -1
        self.needs: dict[tuple[int, int, int], tuple[Any, Need | None]] = {}

    def lasting(self, at: At, since: Number) -> Lasting | None:
        while self.now + 1 < len(self.starts) and self.starts[self.now + 1] <= since:
            self.now += 1
        if self.now < 0:
            return None  # full, and not in use yet
        if self.starts[self.now] > since:
            raise ValueError("asked out of the order of time")
        draw = self.draws[self.now]
        step = at.step if at.line.sort != "wait" else None
        key = (id(draw.rates), id(at.line.way), -1 if step is None else id(step.action))
        if key not in self.needs:
            self.needs[key] = (at.line.way, _need(at, step, draw))  # kept, so that its id stays its own
        need = self.needs[key][1]
        return None if need is None else Lasting(self.supply, draw, at, need)


def _need(at: At, step: Step | None, draw: Draw) -> Need | None:
    """None where nothing is drawn, or nobody knows how much."""

    def rate(action: Action | None) -> Fraction | None:
        effort = at.actor.kind.idle if action is None else action.effort
        return draw.rates.get("" if effort is None else effort.name)

    parts = [(part.seconds, rate(part.action)) for part in at.line.way.parts]
    safe, waiting = rate(step.action if step is not None else None), rate(None)
    known = [one for one in (safe, waiting, *(drawn for _, drawn in parts)) if one is not None]
    hardest = max(known, default=Fraction(0))
    if hardest <= 0:
        return None
    way = sum((seconds * (hardest if drawn is None else drawn) for seconds, drawn in parts), Fraction(0))
    safe = hardest if safe is None else safe
    waiting = hardest if waiting is None else waiting
    return Need(way, safe, waiting, hardest, (float(way), float(safe), float(waiting), float(hardest)))
