"""Effects, and the few general laws that hold for every one of them.

One position for each thing; nothing loose where there is no ground; contact; own holdings; kind fit; counted holders;
bounded sums; room; line lengths. Each breach is a problem with its facts; the effect is applied all the same, so that
one mistake is told once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from heapq import heappop, heappush
from itertools import combinations
from typing import Any

from jackstay.flow.amounts import exceeds, summed
from jackstay.flow.state import State
from jackstay.flow.tests import Binding, Judge
from jackstay.model.records import GROUND, Carry, Effect, Hold, Holding, Thing, World
from jackstay.model.things import first_manner

_ZERO, _ONE, _ONE_LESS = Fraction(0), Fraction(1), Fraction(-1)
Tell = Callable[..., None]


class Distances:
    """Shortest ways along the paths, from each place once."""

    def __init__(self, world: World) -> None:
        self.edges: dict[int, list[tuple[Fraction, Thing, Any]]] = {}
        for path in world.paths:
            self.edges.setdefault(path.a.index, []).append((path.length.value, path.b, path))
            self.edges.setdefault(path.b.index, []).append((path.length.value, path.a, path))
        self.known: dict[int, dict[int, tuple[Fraction, Any, Thing | None]]] = {}
        self.apart: dict[tuple[int, int], Fraction | None] = {}
        self.ways: dict[tuple[int, int], Any] = {}  # kept here for `insert`, which cuts them into legs

    def from_place(self, place: Thing) -> dict[int, tuple[Fraction, Any, Thing | None]]:
        """place index -> (metres, last path, place before); ties go to the earlier declared place."""
        found = self.known.get(place.index)
        if found is not None:
            return found
        found = {}
        heap: list[tuple[Fraction, int, int, Thing, Any, Thing | None]] = [(_ZERO, place.index, 0, place, None, None)]
        pushed = 0  # of two ways of one length to one place, the one found first
        while heap:
            metres, index, _, at, path, before = heappop(heap)
            if index in found:
                continue
            found[index] = (metres, path, before)
            for length, other, way in self.edges.get(index, ()):
                if other.index not in found:
                    pushed += 1
                    heappush(heap, (metres + length, other.index, pushed, other, way, at))
        self.known[place.index] = found
        return found

    def between(self, a: Thing, b: Thing) -> Fraction | None:
        """Metres between two locations, fittings standing at their nearest place; None if no way joins them."""
        if a is b or not a.stations.isdisjoint(b.stations):
            return _ZERO
        key = (a.index, b.index)
        if key in self.apart:
            return self.apart[key]
        best: Fraction | None = None
        for start in a.near or (a,):
            ways = self.from_place(start)
            for goal in b.near or (b,):
                found = ways.get(goal.index)
                if found is not None and (best is None or found[0] < best):
                    best = found[0]
        self.apart[key] = best
        return best


class Laws:
    """Applies effects to a state and reports breaches through ``tell(rule, **facts)``."""

    def __init__(self, world: World, state: State, judge: Judge, distances: Distances) -> None:
        self.world = world
        self.state = state
        self.judge = judge
        self.distances = distances
        self.cast: tuple[Thing, ...] = ()
        self.seats = {
            t
            for t in world.things
            if t.held_var >= 0 and any(h.kind is None or h.kind.sort != "item" for h in t.kind.holds)
        }
        self.fits: dict[tuple[int, int, str | None], Hold | None] = {}
        self.manners: dict[tuple[int, int], str | None] = {}
        self.left_seats: list[Thing] = []  # by the step at hand: what its doers got off, and what it moved with them
        self.moved_seats: list[Thing] = []
        self.actors = [t for t in world.things if t.place_var >= 0]
        self.quiet = False  # the step has failed already: apply, say nothing
        self.tell: Tell = lambda rule, **facts: None
        self.counts: list[tuple[Thing, Any, Thing, Fraction]] = []  # (holder, hold or carry or admit, thing, change)
        # things, with what they are aboard of, of which contact does not tell who else moves that meanwhile
        self.astray: list[tuple[Thing, list[Thing]]] = []
        self.afar = False  # the effect at hand is made from afar
        kinds = list({id(t.kind): t.kind for t in world.things}.values())
        self.carried = {carry.prop for kind in kinds for carry in kind.carries}
        # properties that limits go by, and what such a one has been in the course of the excursion
        named = [hold.limit for kind in kinds for hold in kind.holds] + [a.limit for kind in kinds for a in kind.admits]
        self.limiting = {limit for limit in named if isinstance(limit, str)}
        self.limiting |= {hold.counting for kind in kinds for hold in kind.holds if hold.counting}
        self.been: dict[int, list[Fraction]] = {}
        self.limits: dict[int, Fraction] = {}  # whole limits as amounts

    def apply(self, effect: Effect, binding: Binding) -> tuple[int, Any, Any] | None:
        """Make an effect true; returns (variable, before, after), or None when nothing was to change."""
        test = effect.test
        a = self.judge.term(test.a, binding)
        if a is None:
            return None
        b = None
        if test.b is not None:
            b = self.judge.term(test.b, binding)
            if b is None:
                return None
        doers = [binding[0]] if binding[1] is None else [t for t in binding[:2] if type(t) is Thing]
        self.afar = effect.from_afar
        if test.op == "is":
            return self._property(effect, a, binding, doers)
        assert b is not None
        if test.op in ("from", "to"):
            return self._line_end(effect, a, b, doers)
        if a.place_var >= 0:
            return self._move(effect, a, b, doers)
        if test.op == "located":
            return None
        return self._detach(effect, a, b, doers) if test.negated else self._attach(effect, a, b, doers)

    # --- contact -----------------------------------------------------------------------------------------------------

    def _contact(self, effect: Effect, doers: list[Thing], others: list[Thing], what: Thing) -> bool:
        if effect.from_afar:
            return True
        for doer in doers:
            for other in others:
                if other is doer:
                    continue
                met, reads = self.state.meet(doer, other)
                self.judge.reads += reads
                if not met:
                    if not self.quiet:
                        self.tell(
                            "no-contact",
                            doer=doer,
                            other=other,
                            thing=what,
                            text=effect.test.text,
                            doer_at=self.state.location(doer),
                            other_at=self.state.location(other),
                        )
                        self.quiet = True
                    return False
        return True

    def _own(self, holder: Thing, what: Thing, text: str) -> None:
        if holder.sort == "actor" and holder not in self.cast and not self.quiet:
            self.tell("not-their-own", holder=holder, thing=what, text=text)
            self.quiet = True

    # --- items -------------------------------------------------------------------------------------------------------

    def _attach(self, effect: Effect, item: Thing, holder: Thing, doers: list[Thing]) -> tuple[int, Any, Any] | None:
        state, text = self.state, effect.test.text
        before = state.held(item)
        manner = effect.test.manner or self._manner_for(item, holder)
        hold = self._hold_for(item, holder, manner)
        if hold is None or manner is None:
            if not self.quiet:
                self.tell("does-not-fit", thing=item, holder=holder, manner=manner, text=text)
                self.quiet = True
            manner = manner or "on"
        if holder is item or state.hangs_on(holder, item):
            if not self.quiet:
                self.tell("inside-itself", thing=item, holder=holder, text=text)
                self.quiet = True
            return None
        self._own(holder, item, text)
        self._contact(effect, doers, [*[h.holder for h in before], holder], item)
        new = Holding(manner, holder)
        if new in before and not self.quiet:
            self.judge.reads.append(item.held_var)  # nothing to do, so long as nobody changes it meanwhile
            return None
        for lying in before:
            if lying.manner == GROUND:
                self._note_leaving(lying.holder, item)
        # a step already found wrong leaves its thing where it wanted it, and nowhere else
        after = (new,) if self.quiet else (*[h for h in before if h.manner != GROUND], new)
        state.set_held(item, after)
        if hold is not None:
            self._count(holder, hold, item, text)
        if len(after) > 1:
            self._together(item, text)
        self._sums(holder, item, text)
        for thing in (item, *(state.everything_aboard(item) if effect.from_afar else ())):
            self._lines_of(thing, text)
        return item.held_var, before, after

    def _detach(self, effect: Effect, item: Thing, holder: Thing, doers: list[Thing]) -> tuple[int, Any, Any] | None:
        state, text, manner = self.state, effect.test.text, effect.test.manner
        before = state.held(item)
        after = tuple([h for h in before if h.holder is not holder or (manner is not None and h.manner != manner)])
        self._own(holder, item, text)
        self._contact(effect, doers, [h.holder for h in before] or [holder], item)
        if len(after) == len(before):
            self.judge.reads.append(item.held_var)
            return None
        where = state.location(item)
        for gone in before:
            if gone not in after:
                hold = self._hold_for(item, holder, gone.manner)
                if hold is not None and hold.limit is not None:
                    self.counts.append((holder, hold, item, -self._weight(hold, item)))
                self._note_leaving(holder, item)
        if not after:
            # where it is decides whether it may lie there: nobody may carry it on meanwhile
            self.judge.reads += [var for _, var in state.chain(item) if var >= 0]
        if not after and where is not None and where.kind.ground:
            after = (Holding(GROUND, where),)
        state.set_held(item, after)
        if after and after[0].manner == GROUND and where is not None:
            self._sums(where, item, text)
        if not after and not (item.from_var >= 0 and (state.values[item.from_var] or state.values[item.to_var])):
            if not self.quiet:
                self.tell("let-go-loose", thing=item, holder=holder, where=where, text=text)
                self.quiet = True
            state.set_held(item, before)  # it stays on record where it last hung: one mistake, one finding
            return None
        self._lines_of(item, text)
        return item.held_var, before, after

    def _hold_for(self, item: Thing, holder: Thing, manner: str | None) -> Hold | None:
        """`fitting_hold`, remembered by kinds: the same few pairs are asked for at every step."""
        key = (id(item.kind), id(holder.kind), manner)
        if key not in self.fits:
            self.fits[key] = fitting_hold(item, holder, manner)
        return self.fits[key]

    def _manner_for(self, item: Thing, holder: Thing) -> str | None:
        key = (id(item.kind), id(holder.kind))
        if key not in self.manners:
            self.manners[key] = first_manner(item.kind, holder.kind)
        return self.manners[key]

    def _weight(self, hold: Hold, item: Thing) -> Fraction:
        if hold.counting is None:
            return _ONE
        value = self.state.value(item, hold.counting)
        return value if isinstance(value, Fraction) else _ONE

    def _count(self, holder: Thing, hold: Hold, item: Thing, text: str) -> None:
        if hold.limit is None:
            return
        self.counts.append((holder, hold, item, self._weight(hold, item)))
        limit = self.limit(holder, hold.limit)
        if limit is None:
            return
        weights: list[Fraction] = []
        held: list[Thing] = []
        for other in self.state.aboard.get(holder.index, ()):
            if other.held_var < 0:
                counted = self._hold_for(other, holder, None) is hold
            else:
                counted = any(
                    h.holder is holder and self._hold_for(other, holder, h.manner) is hold
                    for h in self.state.held(other)
                )
            if counted:
                weights.append(self._weight(hold, other))
                held.append(other)
        total = summed(weights)
        if exceeds(total, limit) and self._first_time(holder, hold):
            self.tell(
                "holder-full",
                holder=holder,
                manner=hold.manner,
                limit=limit,
                total=total,
                things=held,
                thing=item,
                text=text,
                decl=hold.decl,
                counting=hold.counting,
            )
            self.quiet = True

    def _first_time(self, holder: Thing, bound: Any) -> bool:
        """Whether to tell that a bound is exceeded: once, until the end of the campaign."""
        key = (holder.index, id(bound))
        if self.quiet or key in self.state.over:
            return False
        self.state.over.add(key)
        return True

    def limit(self, holder: Thing, limit: int | str | None) -> Fraction | None:
        """A declared limit; a property's name means the holder's value."""
        if limit is None:
            return None
        if isinstance(limit, int):
            found = self.limits.get(limit)
            if found is None:
                found = self.limits[limit] = Fraction(limit)
            return found
        value = self.state.value(holder, limit)
        return value if isinstance(value, Fraction) else None

    def _together(self, item: Thing, text: str) -> None:
        """One position: all that an item hangs on is within reach of one another."""
        held = self.state.held(item)
        for i, first in enumerate(held):
            for second in held[i + 1 :]:
                if first.holder is second.holder:
                    continue
                met, reads = self.state.meet(first.holder, second.holder)
                self.judge.reads += reads
                if not met and not self.quiet:
                    self.tell(
                        "two-places",
                        thing=item,
                        first=first,
                        second=second,
                        text=text,
                        first_at=self.state.location(first.holder),
                        second_at=self.state.location(second.holder),
                    )
                    self.quiet = True
                    return

    def _note_leaving(self, holder: Thing, item: Thing) -> None:
        """Enter what leaves a holder into the books of every bounded sum below: that it goes, not with how much."""
        if not self.carried:
            return
        for node in self._below(holder, item):
            for carry in node.kind.carries:
                self.counts.append((node, carry, item, _ONE_LESS))

    def _below(self, holder: Thing, item: Thing) -> list[Thing]:
        """A holder and all that it is aboard of. Noted when it hangs on several: contact follows one way only."""
        nodes = self.state.carriers(holder)
        values = self.state.values
        several = [node for node in nodes if node.held_var >= 0 and len(values[node.held_var] or ()) > 1]
        if self.afar or several:
            self.astray += [(thing, nodes) for thing in (item, *self.state.everything_aboard(item))]
        return nodes

    def _load(self, prop: str, item: Thing) -> Fraction:
        """The property summed over a thing and everything aboard it."""
        if not self.state.aboard.get(item.index):
            value = self.state.value(item, prop)
            return value if isinstance(value, Fraction) else _ZERO
        return summed(self._amounts(prop, [item, *self.state.everything_aboard(item)]))

    def _amounts(self, prop: str, things: Iterable[Thing]) -> list[Fraction]:
        values = [self.state.value(thing, prop) for thing in things]
        return [value for value in values if isinstance(value, Fraction)]

    def _sums(self, holder: Thing, item: Thing, text: str) -> None:
        if not self.carried:
            return
        for node in self._below(holder, item):
            for carry in node.kind.carries:
                self._sum(node, carry, item, self._load(carry.prop, item), text)

    def _sum(self, node: Thing, carry: Carry, item: Thing, change: Fraction, text: str) -> None:
        self.counts.append((node, carry, item, change))
        total = summed(self._amounts(carry.prop, self.state.everything_aboard(node)))
        if exceeds(total, carry.limit.value) and self._first_time(node, carry):
            self.tell(
                "too-much",
                holder=node,
                prop=carry.prop,
                limit=carry.limit,
                total=total,
                thing=item,
                text=text,
                decl=carry.decl,
            )
            self.quiet = True

    # --- actors ------------------------------------------------------------------------------------------------------

    def _move(self, effect: Effect, actor: Thing, target: Thing, doers: list[Thing]) -> tuple[int, Any, Any] | None:
        state, text = self.state, effect.test.text
        before = state.values[actor.place_var]
        if actor not in self.cast:
            self._own(actor, actor, text)
        if effect.test.op == "located":
            if actor.reaches and target not in actor.reaches and not self.quiet:
                self.tell("out-of-arms-reach", actor=actor, place=target)
                self.quiet = True
            after: Thing | None = target
        elif effect.test.negated:
            if before is not target:
                self.judge.reads.append(actor.place_var)
                return None
            # whoever gets off is where the carrier is: that must not change meanwhile
            self.judge.reads += [var for _, var in state.chain(actor) if var >= 0]
            after = state.location(actor)
        else:
            after = target
            if target is actor or state.hangs_on(target, actor):
                if not self.quiet:
                    self.tell("inside-itself", thing=actor, holder=target, text=text)
                    self.quiet = True
                return None
            met, reads = state.meet(actor, target)
            self.judge.reads += reads
            if not met and not self.quiet:
                self.tell(
                    "no-contact",
                    doer=actor,
                    other=target,
                    thing=target,
                    text=text,
                    doer_at=state.location(actor),
                    other_at=state.location(target),
                )
                self.quiet = True
        if after is before:
            self.judge.reads.append(actor.place_var)
            return None
        was_at = before if before is not None and before.sort == "location" else state.location(actor)
        if before is not None and before.sort != "location":
            self.left_seats.append(before)
            hold = self._hold_for(actor, before, None)
            if hold is not None:
                self.counts.append((before, hold, actor, -self._weight(hold, actor)))
        if before is not None and (before.sort != "location" or before.kind.carries):
            self._note_leaving(before, actor)
        state.set_place(actor, after)
        if after is not None and after.sort != "location":
            self._board(actor, after, text)
        elif after is not None and after.kind.carries:
            self._sums(after, actor, text)
        now_at = after if after is not None and after.sort == "location" else state.location(actor)
        if was_at is not now_at:
            aboard = list(state.everything_aboard(actor))
            self.moved_seats += [thing for thing in aboard if thing in self.seats]
            for mover in (actor, *[t for t in aboard if t.place_var >= 0]):
                self._book_room(mover, was_at, now_at)
                self._room(now_at, mover, text)
            for thing in aboard:
                if thing.held_var >= 0 and len(state.held(thing)) > 1:
                    self._together(thing, text)
                if thing.from_var >= 0 or thing.index in state.ends_on:
                    self._lines_of(thing, text)
            self._lines_of(actor, text)
        return actor.place_var, before, after

    def _board(self, actor: Thing, carrier: Thing, text: str) -> None:
        """A rider is held like any other thing: it fits, there is room for it, and its load counts."""
        hold = self._hold_for(actor, carrier, None)
        if hold is None:
            if not self.quiet:
                self.tell("does-not-fit", thing=actor, holder=carrier, manner=None, text=text)
                self.quiet = True
            return
        self._count(carrier, hold, actor, text)
        self._sums(carrier, actor, text)

    def _book_room(self, actor: Thing, was_at: Thing | None, now_at: Thing | None) -> None:
        for place, change in ((was_at, _ONE_LESS), (now_at, _ONE)):
            if place is not None:
                for admit in place.kind.admits:
                    if admit.kind is None or actor.kind.is_a(admit.kind):
                        self.counts.append((place, admit, actor, change))

    def _room(self, place: Thing | None, actor: Thing, text: str) -> None:
        if place is None:
            return
        for admit in place.kind.admits:
            limit = self.limit(place, admit.limit)
            if limit is None or (admit.kind is not None and not actor.kind.is_a(admit.kind)):
                continue
            if len(self.actors) * limit.denominator <= limit.numerator:
                continue  # nobody need be counted
            there = [
                t
                for t in self.actors
                if (admit.kind is None or t.kind.is_a(admit.kind)) and self.state.location(t) is place
            ]
            if len(there) > limit and self._first_time(place, admit):
                self.tell("crowded", place=place, limit=limit, actors=there, actor=actor, text=text, decl=admit.decl)
                self.quiet = True

    # --- lines and properties ----------------------------------------------------------------------------------------

    def _line_end(self, effect: Effect, line: Thing, holder: Thing, doers: list[Thing]) -> tuple[int, Any, Any] | None:
        state, text, op = self.state, effect.test.text, effect.test.op
        var = line.from_var if op == "from" else line.to_var
        before = state.values[var]
        if effect.test.negated:
            if before is not holder:
                self.judge.reads.append(var)
                return None
            others, after = [holder], None
        else:
            others, after = [t for t in (before, holder) if t is not None], holder
            if not any(h.kind is None or line.kind.is_a(h.kind) for h in holder.kind.holds) and not self.quiet:
                self.tell("does-not-fit", thing=line, holder=holder, manner=None, text=text)
                self.quiet = True
        for other in others:
            self._own(other, line, text)
        self._contact(effect, doers, others, line)
        if before is after:
            self.judge.reads.append(var)
            return None
        state.set_end(line, op, after)
        held_anywhere = state.values[line.from_var] or state.values[line.to_var] or state.held(line)
        if not held_anywhere:
            where = state.location(doers[0]) if doers else None
            if (where is None or not where.kind.ground) and not self.quiet:
                self.tell("let-go-loose", thing=line, holder=holder, where=where, text=text)
                self.quiet = True
        self._length(line, text)
        return var, before, after

    def _lines_of(self, thing: Thing, text: str) -> None:
        if thing.from_var >= 0:
            self._length(thing, text)
        for line in self.state.ends_on.get(thing.index, ()):
            self._length(line, text)

    def _length(self, line: Thing, text: str) -> None:
        """The points a line hangs on are no further apart, along the paths, than it is long."""
        if line.kind.length is None or self.quiet:
            return
        length = self.state.value(line, line.kind.length)
        if not isinstance(length, Fraction):
            return
        places = [self.state.location(t) for t, _ in self.state.anchors(line)]
        points = [place for place in places if place is not None]
        for first, second in combinations(points, 2):
            apart = self.distances.between(first, second)
            if apart is not None and exceeds(apart, length):
                self.tell(
                    "line-too-short", line=line, length=length, apart=apart, first=first, second=second, text=text
                )
                self.quiet = True
                return

    def _property(
        self, effect: Effect, thing: Thing, binding: Binding, doers: list[Thing]
    ) -> tuple[int, Any, Any] | None:
        test = effect.test
        assert test.prop is not None and test.value is not None
        var = thing.prop_vars.get(test.prop, -1)
        if var < 0:
            return None  # the model has seen to it that every kind a slot takes has the property
        self._contact(effect, doers, [thing], thing)
        before = self.state.values[var]
        after = self.judge.formula(test.value, binding)
        declared = thing.kind.properties.get(test.prop)
        if declared is not None and declared.sort == "count" and isinstance(after, Fraction):
            total = thing.totals.get(test.prop)
            if (after < 0 or (total is not None and declared.normally_total and after > total)) and not self.quiet:
                self.tell(
                    "impossible-count",
                    thing=thing,
                    prop=test.prop,
                    before=before,
                    after=after,
                    total=total,
                    text=test.text,
                )
                self.quiet = True
        if after is None:
            return None
        self.state.values[var] = after
        if test.prop in self.limiting:
            been = self.been.setdefault(var, [])
            been += [v for v in (before, after) if isinstance(v, Fraction) and v not in been]
        if test.prop in self.carried:
            grown = (after if isinstance(after, Fraction) else _ZERO) - (
                before if isinstance(before, Fraction) else _ZERO
            )
            for node in self.state.carriers(thing)[1:]:
                for carry in node.kind.carries:
                    if carry.prop == test.prop:
                        self._sum(node, carry, thing, grown, test.text)
        # writing the value that is there already is still a write: it is in flux meanwhile
        return var, before, after


def fitting_hold(item: Thing, holder: Thing, manner: str | None) -> Hold | None:
    """The holder's line under which the item hangs there in this manner."""
    for hold in holder.kind.holds:
        if (manner is None or hold.manner == manner) and (hold.kind is None or item.kind.is_a(hold.kind)):
            return hold
    return None
