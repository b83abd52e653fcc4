"""What each thing adds to which bound, along a replay: counted holders, bounded sums and room, thing by thing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction
from operator import itemgetter
from typing import Any, NamedTuple

from jackstay.flow.laws import fitting_hold
from jackstay.flow.recording import Values
from jackstay.flow.records import Step
from jackstay.flow.state import State
from jackstay.flow.stays import Stay
from jackstay.model.records import Thing, World

Book = tuple[int, int]  # (the holder's index, the bound's id)
_ONE = Fraction(1)


class Known(NamedTuple):
    """values_of: takes the values of some variables out of a state's. by_values: these -> what a thing then adds."""

    values_of: Callable[[list[Any]], Any]
    by_values: dict[Any, dict[Book, Fraction]]


class Presences:
    """stays: (thing, book) -> its stays there, by weight. reads: thing -> variables that these go by. books: book ->
    (holder, bound).

    known: what a thing adds, by what decides it: thing -> the variables looked at -> their values -> book -> weight.
    Flights of one excursion have it in common: they differ in little."""

    def __init__(self, world: World, nominal: "Presences | None" = None) -> None:
        self.world = world
        self.stays: dict[tuple[Thing, Book], list[Stay]] = {}
        self.reads: dict[Thing, set[int]] = {}
        self.books: dict[Book, tuple[Thing, Any]] = nominal.books if nominal is not None else {}
        self.known: dict[Thing, dict[tuple[int, ...], Known]] = nominal.known if nominal is not None else {}

    def follow(self, start: list[Any], steps: Iterable[Step], things: Iterable[Thing]) -> None:
        """Read them off for these things."""
        values = list(start)
        by_var: dict[int, dict[Thing, None]] = {}
        now: dict[Thing, dict[Book, tuple[Step | None, Fraction]]] = {}
        latest: dict[Thing, dict[Book, Fraction]] = {}
        looked: set[tuple[Thing, tuple[int, ...]]] = set()

        def look(thing: Thing, step: Step | None) -> None:
            variables, found = self._found(values, thing)
            if (thing, variables) not in looked:
                looked.add((thing, variables))
                self.reads.setdefault(thing, set()).update(variables)
                for var in variables:
                    by_var.setdefault(var, {})[thing] = None
            if latest.get(thing) is found:
                return
            latest[thing] = found
            held = now.setdefault(thing, {})
            for book, (begun, weight) in list(held.items()):
                if found.get(book) != weight:
                    self.stays.setdefault((thing, book), []).append(Stay(begun, step, thing, weight))
                    del held[book]
            for book, weight in found.items():
                held.setdefault(book, (step, weight))

        for thing in things:
            look(thing, None)
        for step in steps:
            again: dict[Thing, None] = {}
            for change in step.changes:
                values[change.var] = change.after
                again.update(by_var.get(change.var, {}))
            for thing in again:
                look(thing, step)
        for thing, held in now.items():
            for book, (begun, weight) in held.items():
                self.stays.setdefault((thing, book), []).append(Stay(begun, None, thing, weight))

    def _found(self, values: list[Any], thing: Thing) -> tuple[tuple[int, ...], dict[Book, Fraction]]:
        """The variables that decide what a thing adds, and that."""
        ways = self.known.setdefault(thing, {})
        for variables, known in ways.items():
            found = known.by_values.get(known.values_of(values))
            if found is not None:
                return variables, found
        state = State(0)
        state.values = noting = Values(values)
        noting.seen = set()
        found = self._now(state, thing)
        variables = tuple(sorted(noting.seen))
        if variables not in ways:
            ways[variables] = Known(itemgetter(*variables), {})
        known = ways[variables]
        known.by_values[known.values_of(values)] = found
        return variables, found

    def _now(self, state: State, thing: Thing) -> dict[Book, Fraction]:
        out: dict[Book, Fraction] = {}

        def add(holder: Thing, bound: Any, weight: Fraction) -> None:
            book = (holder.index, id(bound))
            self.books[book] = (holder, bound)
            out[book] = out.get(book, Fraction(0)) + weight

        holders: list[tuple[Thing, str | None]] = []
        if thing.place_var >= 0:
            place = state.values[thing.place_var]
            if place is not None and place.sort != "location":
                holders.append((place, None))
        elif thing.held_var >= 0:
            holders += [(holding.holder, holding.manner) for holding in state.values[thing.held_var] or ()]
        for holder, manner in holders:
            hold = fitting_hold(thing, holder, manner)
            if hold is not None and hold.limit is not None:
                weight = state.value(thing, hold.counting) if hold.counting is not None else _ONE
                add(holder, hold, weight if isinstance(weight, Fraction) else _ONE)
        for node in state.carriers(thing)[1:]:
            for carry in node.kind.carries:
                weight = state.value(thing, carry.prop)
                if isinstance(weight, Fraction) and weight > 0:
                    add(node, carry, weight)
        if thing.place_var >= 0:
            where = state.location(thing)
            for admit in where.kind.admits if where is not None else ():
                if where is not None and (admit.kind is None or thing.kind.is_a(admit.kind)):
                    add(where, admit, _ONE)
        return out


def bounded(world: World) -> bool:
    """Whether anything is counted, summed up or admitted at all."""
    kinds = {id(thing.kind): thing.kind for thing in world.things}.values()
    return any(k.carries or k.admits or any(h.limit is not None for h in k.holds) for k in kinds)
