"""The way home against what is left, at every moment of the nominal plan, exactly.

At each moment, for everyone who is outside: make safe, get rid of what stands in the way, go home by the lines that
the paths ask for, wait for the way in, and come in; all turn back at once. That is set against what is left of the
clock and of each supply. Margins are linear between the moments that `home_moments` hands out, so their least value
stands at one of those, seen from one side or the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Thing, World
from jackstay.source.spans import Span
from jackstay.timing.home_left import Lasting, Left, Limits
from jackstay.timing.home_moments import Sweep
from jackstay.timing.home_records import At, Moment, Number, Stretch, Stuck, exact
from jackstay.timing.home_rescue import Rescues
from jackstay.timing.records import Times

Report = Callable[..., None]


_NEAR = 1e-3  # seconds: floating point is never off by so much, over any excursion


class Tally:
    """What has been seen of one actor. tightest: the least margin. short: from when on, the first time, the way home
    takes longer than what is left. stuck, unknown: the first stretch without a way, or without a time for it.
    first_out, last_out: when they go outside, and until when they are there."""

    def __init__(self, actor: Thing) -> None:
        self.actor = actor
        self.short: Number | None = None
        self.stuck: tuple[Number, Number, Stuck] | None = None
        self.unknown: tuple[Number, Number, Stuck] | None = None
        self.first_out: Number | None = None
        self.last_out: Number | None = None
        self.longest: Number = 0  # what the way home takes at most
        self._least = float("inf")  # the least margin, nearly
        self._where: list[tuple[At, Number, Number, Left | Lasting]] = []  # stretches that come so near

    @property
    def tightest(self) -> Moment | None:
        """The first of the moments with the least margin."""
        found: Moment | None = None
        for at, since, until, left in self._where:
            if isinstance(left, Lasting):
                left = left.exactly(since, until)
            late = left.until - at.until < left.since - at.since
            t, need, rest = (until, at.until, left.until) if late else (since, at.since, left.since)
            if found is None or rest - need < found.margin:
                found = Moment(t, late, at, need, rest, left.supply)
        return found

    @property
    def turn_back(self) -> Number | None:
        """The last moment to turn back: at every moment before it, from going out on, the way home fits into what is
        left. Where it always does, that is when they are inside again."""
        if self.short is None and self.stuck is None and self.unknown is None:
            return self.last_out
        return min(t for t in (self.short, *(one[0] for one in (self.stuck, self.unknown) if one)) if t is not None)

    def see(self, at: At, since: Number, until: Number, limits: Limits, clock_only: bool) -> None:
        self.longest = max(self.longest, at.since, at.until)
        clock = limits.clock(since, until)
        if clock is not None:
            self._weigh(at, since, until, clock, float(min(clock.since - at.since, clock.until - at.until)))
        for one in () if clock_only else limits.stocks_of(at, since):
            self._weigh(at, since, until, one, min(one.about(since, at.since), one.about(until, at.until)))

    def _weigh(self, at: At, since: Number, until: Number, left: "Left | Lasting", margin: float) -> None:
        """margin: the least of the stretch, nearly. Exact numbers are asked for only where they decide."""
        if self.short is None and margin < _NEAR:
            self._short(at, since, until, left.exactly(since, until) if isinstance(left, Lasting) else left)
        if margin < self._least - _NEAR:
            self._where.clear()
        if margin < self._least + _NEAR:
            self._where.append((at, since, until, left))
            self._least = min(self._least, margin)

    def _short(self, at: At, since: Number, until: Number, left: Left) -> None:
        first, last = left.since - at.since, left.until - at.until
        if first < 0:
            self.short = since
        elif last < 0:
            self.short = exact(since + (until - since) * Fraction(first) / (first - last))

    def lacks(self, one: Stuck, since: Number, until: Number) -> None:
        """The first stretch without an answer; neighbouring ones are one."""
        name = "unknown" if one.way.unknown is not None else "stuck"
        before = getattr(self, name)
        if before is None:
            setattr(self, name, (since, until, one))
        elif before[1] == since:
            setattr(self, name, (before[0], until, before[2]))


class WayHome(NamedTuple):
    """tallies: in the order of the excursion's actors, of those who go out. horizon: until when times are known."""

    tallies: dict[Thing, Tally]
    rescues: Rescues
    horizon: Number | None


class Row(NamedTuple):
    """A stretch with what is left in it, for those who print it."""

    stretch: Stretch
    lefts: dict[Thing, list[Left]]


def way_home(
    world: World,
    flow: ExcursionFlow,
    times: Times,
    see: Callable[[Row], None] | None = None,
    coarse: bool = False,
    limits: Limits | None = None,
) -> WayHome:
    """The whole account. see: called with each stretch as it comes. coarse: see `Sweep`; supplies are not looked at
    then."""
    limits = limits or Limits(world, flow, times)
    sweep = Sweep(world, flow, times, coarse)
    tallies = {actor: Tally(actor) for actor in sweep.going}
    rescues = Rescues(sweep)
    for stretch in sweep.stretches((limits.zero,) if coarse else limits.cuts):
        lefts: dict[Thing, list[Left]] = {}
        for at in stretch.out:
            tally = tallies[at.actor]
            _out(tally, stretch)
            tally.see(at, stretch.since, stretch.until, limits, coarse)
            if see is not None:
                lefts[at.actor] = limits(at, stretch.since, stretch.until)
        for one in stretch.stuck:
            _out(tallies[one.actor], stretch)
            tallies[one.actor].lacks(one, stretch.since, stretch.until)
        rescues.see(stretch)
        if see is not None:
            see(Row(stretch, lefts))
    return WayHome(tallies, rescues, sweep.horizon)


def _out(tally: Tally, stretch: Stretch) -> None:
    if tally.first_out is None:
        tally.first_out = stretch.since
    tally.last_out = stretch.until


def check_way_home(world: World, flow: ExcursionFlow, times: Times, report: Report) -> None:
    """Report ``way-home-too-long``, ``no-way-home``, ``way-home-not-known`` and ``rescue-too-long``.

    Without a limit, a supply in use or a rescue's time there is nothing to compare with, and nothing is said."""
    if not flow.steps:
        return
    limits = Limits(world, flow, times)
    timed_rescue = any(one.within is not None for member in flow.excursion.crew for one in member.actor.kind.rescues)
    if not limits.any and not timed_rescue:
        return
    if not _may_fall_short(way_home(world, flow, times, coarse=True, limits=limits), limits):
        return
    account = way_home(world, flow, times, limits=limits)
    facts: dict[str, Any] = {"flow": flow, "excursion": flow.excursion, "times": times}
    if limits.any:
        for tally in account.tallies.values():
            _judge(tally, facts, report)
    for shortfall in account.rescues.shortfalls():
        report(
            "rescue-too-long", place_of(flow, shortfall.partner, times, shortfall.since), shortfall=shortfall, **facts
        )


def _may_fall_short(coarse: WayHome, limits: Limits) -> bool:
    """Whether a coarse account leaves anything open."""
    tallies = coarse.tallies.values()
    return bool(coarse.rescues.shortfalls()) or any(
        one.short is not None
        or one.stuck is not None
        or one.unknown is not None
        or not limits.surely_last(one.actor, one.longest)
        for one in tallies
    )


def _judge(tally: Tally, facts: dict[str, Any], report: Report) -> None:
    flow, times, actor = facts["flow"], facts["times"], tally.actor
    if tally.short is not None:
        at = place_of(flow, actor, times, tally.short)
        report("way-home-too-long", at, actor=actor, since=tally.short, worst=tally.tightest, **facts)
    for rule, found in (("no-way-home", tally.stuck), ("way-home-not-known", tally.unknown)):
        if found is not None:
            since, until, stuck = found
            at = stuck.step.entry.at if stuck.step is not None else place_of(flow, actor, times, since)
            report(rule, at, actor=actor, since=since, until=until, stuck=stuck, **facts)


def step_at(flow: ExcursionFlow, actor: Thing, times: Times, t: Number) -> Step:
    """The last of an actor's steps to have begun by a moment; before the first, that one."""
    own = [step for step in flow.steps if actor in step.cast]
    return next((step for step in reversed(own) if times.start[step.index] <= t), own[0])


def place_of(flow: ExcursionFlow, actor: Thing, times: Times, t: Number) -> Span:
    if not any(actor in step.cast for step in flow.steps):
        return flow.excursion.decl
    return step_at(flow, actor, times, t).entry.at


def needs_home(world: World, flow: ExcursionFlow, times: Times) -> dict[Thing, list[Number | None]]:
    """For each actor who goes out, by step of the flow: seconds needed to be back inside as that step ends, all
    turning back then, waiting for the way in included: the longer of just before and just after. None: inside then,
    or there is no way that is known."""
    found: dict[Thing, list[Number | None]] = {}
    at: dict[Number, dict[Thing, Number]] = {}
    sweep = Sweep(world, flow, times)
    for stretch in sweep.stretches():
        for one in stretch.out:
            for t, need in ((stretch.since, one.since), (stretch.until, one.until)):
                known = at.setdefault(t, {})
                known[one.actor] = max(need, known.get(one.actor, need))
    for actor in sweep.going:
        found[actor] = [at.get(exact(t), {}).get(actor) for t in times.end]
    return found


def lines_of(rows: list[Row], actor: Thing) -> Iterator[tuple[Stretch, At, list[Left]]]:
    """One actor's own stretches among all."""
    for row in rows:
        for at in row.stretch.out:
            if at.actor is actor:
                yield row.stretch, at, row.lefts[actor]
