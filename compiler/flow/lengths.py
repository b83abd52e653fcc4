"""How far apart the ends of a line may come, under any timing.

The replay has measured every line along the proven order. Where all that a line's ends hang on is changed by steps
that are ordered among themselves, that decides it. Else the stays of values decide, variable by variable: one value of
each variable on the two ways from the line down to a place, pairwise not apart, can meet in some timing. A step's own
changes come one after the other: the old value of the first never meets the new one of a later. That is exact as long
as no two steps that change one of these variables race; where they do, the race is told, and nothing more of that line.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Any, NamedTuple

from jackstay.flow.amounts import exceeds
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.replay import Replay
from jackstay.flow.stays import Stay, before
from jackstay.model.records import Thing, World

_MOST = 50_000  # values put together for one line, beyond which the exact answer is not sought: some tenths of a second
_MOST_EACH = 20  # or so many for each step that bears on it, if that is more
_DEEP = 64

Writers = dict[int, list[Step]]
Chosen = tuple[tuple[int, Stay], ...]  # (variable, a stay of its value: `thing` is the value)


class Stretch(NamedTuple):
    """Two places that a line may hang between. first, second: (what it hangs on, where that is)."""

    first: tuple[Thing, Thing]
    second: tuple[Thing, Thing]
    apart: Fraction
    length: Fraction
    chosen: Chosen


class _TooMany(Exception):
    """More values to put together than are looked at."""


def check_lines(replay: Replay) -> None:
    """Report ``line-may-be-too-short`` and, where there is too much to compare, ``not-decided``."""
    lines = measured(replay.world)
    if not lines:
        return
    writers = writers_of(replay.flow)
    told = {p.facts["line"] for p in replay.flow.problems if p.rule == "line-too-short"}
    for line in lines:
        if line not in told:
            _check(replay, line, writers)


def measured(world: World) -> list[Thing]:
    """The lines that have a length."""
    return [thing for thing in world.things if thing.from_var >= 0 and thing.kind.length is not None]


def _check(replay: Replay, line: Thing, writers: Writers) -> None:
    flow = replay.flow
    try:
        found = _Line(replay, line, writers).stretch()
    except _TooMany:
        reason = "there are too many ways in which its ends may come to be where they are to compare them all"
        facts = {"what": "line", "excursion": flow.excursion, "line": line, "reason": reason}
        replay._tell("not-decided", flow.excursion.decl, **facts)
        return
    if found is None:
        return
    begun = [stay.start for _, stay in found.chosen if stay.start is not None]
    last = max(begun, key=lambda step: step.index, default=None)
    replay._tell(
        "line-may-be-too-short",
        last.entry.at if last is not None else flow.excursion.decl,
        flow=flow,
        line=line,
        length=found.length,
        apart=found.apart,
        first=found.first,
        second=found.second,
        variables=[var for var, _ in found.chosen],
        stays=[stay for _, stay in found.chosen],
    )


def writers_of(flow: ExcursionFlow) -> Writers:
    """variable -> the steps that change it, in order."""
    writers: Writers = {}
    for step in flow.steps:
        for change in step.changes:
            writers.setdefault(change.var, []).append(step)
    return writers


def bears_on(starts: list[list[Any]], writers: list[Writers], line: Thing) -> tuple[dict[int, None], list[Thing]]:
    """All variables that ever decide between which places a line hangs, and those places. starts, writers: of one
    replay or of several that differ."""
    todo = dict.fromkeys(_own(line))
    places: dict[Thing, None] = {}
    for var in (queue := list(todo)):
        found = [values[var] for values in starts]
        for some in writers:
            found += [c.after for step in some.get(var, ()) for c in step.changes if c.var == var]
        for value in found:
            for holder in _holders(value):
                if holder.sort == "location":
                    places[holder] = None
                    continue
                for more in _own(holder):
                    if more not in todo:
                        todo[more] = None
                        queue.append(more)
    return todo, list(places)


def _own(thing: Thing) -> list[int]:
    """The variables that say what a thing hangs on."""
    return [var for var in (thing.place_var, thing.held_var, thing.from_var, thing.to_var) if var >= 0]


def _holders(value: Any) -> list[Thing]:
    """The things in the value of a place, an attachment or a line's end."""
    if value is None:
        return []
    return [value] if isinstance(value, Thing) else [holding.holder for holding in value]


class _Line:
    """One line along one replay."""

    def __init__(self, replay: Replay, line: Thing, writers: Writers) -> None:
        self.replay = replay
        self.line = line
        self.writers = writers
        self.start = replay.flow.start
        self.tried = 0
        self.most = _MOST
        self.chains: dict[int, list[Stay]] = {}

    def stretch(self) -> Stretch | None:
        """Places that it may hang between and that are too far apart; None if there are none, or none to tell."""
        replay, line = self.replay, self.line
        variables, places = bears_on([self.start], [self.writers], line)
        assert line.kind.length is not None
        own = line.prop_vars.get(line.kind.length, -1)
        if self.writers.get(own):
            variables[own] = None  # the steps that change it have not been measured in the replay
            lengths = [stay.thing for stay in self._chain(own)]
        elif self._decided(variables):
            return None
        else:
            lengths = [replay.state.value(line, line.kind.length)]
        least = min((length for length in lengths if isinstance(length, Fraction)), default=None)
        if least is None or not self._can_be_too_short(places, least):
            return None
        if not replay.doubted_since.keys().isdisjoint(variables):
            return None  # what follows from a step found wrong is not told again
        if not all(_in_order(self.writers.get(var, ())) for var in variables):
            return None  # a race, and told as such
        self.chains = {var: self._chain(var) for var in variables}
        self.most = max(_MOST, _MOST_EACH * sum(map(len, self.chains.values())))
        if own not in variables:
            return self._search((), least)
        found = (self._search(((own, stay),), stay.thing) for stay in self.chains[own] if stay.thing is not None)
        return next((one for one in found if one is not None), None)

    def _decided(self, variables: dict[int, None]) -> bool:
        """Whether one after the other, for certain, changes what bears on it: then the replay has seen all there is."""
        steps = {step.index: step for var in variables for step in self.writers.get(var, ())}
        return _in_order(steps[i] for i in sorted(steps))

    def _can_be_too_short(self, places: list[Thing], length: Fraction) -> bool:
        return any(self._apart(a, b, length) is not None for a, b in combinations(places, 2))

    def _apart(self, a: Thing, b: Thing, length: Fraction) -> Fraction | None:
        """How far, when that is too far."""
        apart = self.replay.laws.distances.between(a, b)
        return apart if apart is not None and exceeds(apart, length) else None

    def _chain(self, var: int) -> list[Stay]:
        """The values of a variable, in order."""
        chain: list[Stay] = []
        since: Step | None = None
        value = self.start[var]
        for step in self.writers.get(var, ()):
            after = next(change.after for change in step.changes if change.var == var)
            chain.append(Stay(since, step, value))
            since, value = step, after
        return [*chain, Stay(since, None, value)]

    # --- looking for values that can meet ----------------------------------------------------------------------------

    def _search(self, begun: Chosen, length: Fraction) -> Stretch | None:
        """The first that there is, in the order of the replay. begun: chosen before."""
        own = _own(self.line)
        for var in own:  # what hangs on two holders at once, by itself
            for stay in self._meeting(var, begun):
                found = self._between(_pairs_of(stay.thing), (*begun, (var, stay)), length)
                if found is not None:
                    return found
        for var, other in combinations(own, 2):
            for stay in self._meeting(var, begun):
                chosen = (*begun, (var, stay))
                for another in self._meeting(other, chosen):
                    pairs = [(a, b) for a in _holders(stay.thing) for b in _holders(another.thing) if a is not b]
                    found = self._between(pairs, (*chosen, (other, another)), length)
                    if found is not None:
                        return found
        return None

    def _between(self, pairs: list[tuple[Thing, Thing]], chosen: Chosen, length: Fraction) -> Stretch | None:
        for first, second in pairs:
            for place, so_far in self._places(first, chosen, _DEEP):
                for other, values in self._places(second, so_far, _DEEP):
                    apart = self._apart(place, other, length)
                    if apart is not None and not self._follows_from_failure(values):
                        return Stretch((first, place), (second, other), apart, length, values)
        return None

    def _places(self, thing: Thing, chosen: Chosen, deep: int) -> Iterator[tuple[Thing, Chosen]]:
        """Where a thing may be while the chosen values hold, each with what has been chosen for it."""
        if thing.sort == "location":
            yield thing, chosen
            return
        if not deep:
            return
        # as everywhere, the first holder says where a thing is; a line that hangs by its ends alone is at `to`
        if thing.place_var >= 0:
            ways = [thing.place_var]
        else:
            ways = [var for var in (thing.held_var, thing.to_var, thing.from_var) if var >= 0]
        yield from self._down(ways, chosen, deep)

    def _down(self, ways: list[int], chosen: Chosen, deep: int) -> Iterator[tuple[Thing, Chosen]]:
        var, *rest = ways
        known = [stay for known, stay in chosen if known == var]
        for stay in known or self._meeting(var, chosen):
            more = chosen if known else (*chosen, (var, stay))
            holders = _holders(stay.thing)
            if holders:
                yield from self._places(holders[0], more, deep - 1)
            elif rest:
                yield from self._down(rest, more, deep)

    def _meeting(self, var: int, chosen: Chosen) -> Iterator[Stay]:
        """The values of a variable that may hold together with all those chosen: neighbours in its chain."""
        chain = self.chains[var]
        low = max((_first_not_before(chain, known) for _, known in chosen), default=0)
        for stay in map(chain.__getitem__, range(low, len(chain))):
            if any(before(known, stay) for _, known in chosen):
                return
            if any(_in_turn((other, known), (var, stay)) for other, known in chosen):
                continue
            self.tried += 1
            if self.tried > self.most:
                raise _TooMany
            yield stay

    def _follows_from_failure(self, chosen: Chosen) -> bool:
        failed = self.replay.failed
        edges = (step for _, stay in chosen for step in (stay.start, stay.end))
        return bool(failed) and any(step is not None and step.index in failed for step in edges)


def _in_order(steps: Iterable[Step]) -> bool:
    return all(happens_before(a, b) for a, b in pairwise(steps))


def _first_not_before(chain: list[Stay], known: Stay) -> int:
    """Where those in a chain begin that are not surely over when the known one begins."""
    return bisect_left(chain, True, key=lambda stay: not before(stay, known))


def _pairs_of(value: Any) -> list[tuple[Thing, Thing]]:
    return [(a, b) for a, b in combinations(_holders(value), 2) if a is not b]


def _in_turn(a: tuple[int, Stay], b: tuple[int, Stay]) -> bool:
    """Whether one step ends the one value and begins the other, in that turn."""
    for (var, ending), (other, beginning) in ((a, b), (b, a)):
        if ending.end is not None and ending.end is beginning.start:
            turn = [change.var for change in ending.end.changes]
            if turn.index(var) < turn.index(other):
                return True
    return False
