"""Whether a resolved literal holds in a state, and which variables it read to know."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.flow.state import State
from jackstay.model.formulas import calculate, look_up
from jackstay.model.records import (
    Arithmetic,
    Const,
    EffortRate,
    Excursion,
    Formula,
    Here,
    Kind,
    PropertyValue,
    Quantified,
    RouteLength,
    Slot,
    SlotNumber,
    Term,
    Test,
    Thing,
    TotalOf,
    World,
)

Binding = tuple[Any, ...] | list[Any]


class Judge:
    """Evaluates tests in one state. ``reads`` collects the variables that plain literals read.

    excursion: whose crew it is that counts where only the crew does; None: everybody counts everywhere.
    running: for ``working on`` and ``moving at``, the facts that hold while a step runs: (actor, thing or place)."""

    __slots__ = ("by_kind", "crew", "moving", "of_crew", "reads", "route", "state", "working", "world")

    def __init__(self, world: World, state: State, excursion: Excursion | None = None) -> None:
        self.world = world
        self.state = state
        self.crew = None if excursion is None else frozenset([member.actor for member in excursion.crew])
        self.reads: list[int] = []
        self.route = Fraction(0)
        self.working: list[tuple[Thing, Thing]] = []
        self.moving: list[tuple[Thing, Thing]] = []
        self.by_kind: dict[int, list[Thing]] = {}
        self.of_crew: dict[int, list[Thing]] = {}

    def things_of(self, kind: Kind) -> list[Thing]:
        found = self.by_kind.get(id(kind))
        if found is None:
            found = [t for t in self.world.things if t.kind.is_a(kind)]
            self.by_kind[id(kind)] = found
        return found

    def takes_part(self, thing: Thing) -> bool:
        """Whether it is no actor, or one of the excursion's crew."""
        return thing.sort != "actor" or self.crew is None or thing in self.crew

    def among(self, quant: Quantified) -> list[Thing]:
        """The things that a quantifier speaks of. ``everyone`` of a kind that none of the crew is of: all there are."""
        if not quant.crew or self.crew is None:
            return self.things_of(quant.kind)
        found = self.of_crew.get(id(quant.kind))
        if found is None:
            found = self.of_crew[id(quant.kind)] = [t for t in self.things_of(quant.kind) if self.takes_part(t)]
        return found or (self.things_of(quant.kind) if quant.quant == "every" else found)

    def term(self, term: Term, binding: Binding) -> Thing | None:
        if type(term) is Slot:
            index = term.index
            bound = binding[index] if index < len(binding) else None
            return bound if type(bound) is Thing else None
        if type(term) is Thing:
            return term
        if type(term) is Here:
            actor = binding[0]
            if not isinstance(actor, Thing):
                return None
            self.reads += [var for _, var in self.state.chain(actor) if var >= 0]
            return self.state.location(actor)
        return None

    def holds(self, test: Test, binding: Binding) -> bool:
        """The literal's truth, its negation included."""
        first, second = test.a, test.b
        if type(first) is Quantified:
            return self._over(test, binding, first, first=True)
        if type(second) is Quantified:
            return self._over(test, binding, second, first=False)
        a = first if type(first) is Thing else self.term(first, binding)
        if a is None:
            return False
        b = None
        if second is not None:
            b = second if type(second) is Thing else self.term(second, binding)
            if b is None:
                return False
        return self._plain(test, a, b, binding) != test.negated

    def _over(self, test: Test, binding: Binding, quant: Quantified, first: bool) -> bool:
        """One quantifier: every, some or none of a kind. Its reads are those of the things that decide it."""
        keep = len(self.reads)
        other = test.b if first else test.a
        for thing in self.among(quant):
            a = thing if first else None
            b = None if first else thing
            if first:
                if isinstance(other, Quantified):  # everyone … a reel
                    truth = self._over(test._replace(a=thing, negated=False), binding, other, False) != test.negated
                    if quant.quant == "every" and not truth:
                        return False
                    if quant.quant == "some" and truth:
                        return True
                    if quant.quant == "none" and truth:
                        return False
                    continue
                if other is not None:
                    b = self.term(other, binding)
                    if b is None:
                        continue
            else:
                a = self.term(other, binding) if other is not None else None
                if a is None:
                    return False
            assert a is not None
            truth = self._plain(test, a, b, binding) != test.negated
            if quant.quant == "some" and truth:
                return True
            if quant.quant == "none" and truth:
                return False
            if quant.quant == "every" and not truth:
                return False
            if quant.quant == "some":
                del self.reads[keep:]
        return quant.quant != "some"

    def _plain(self, test: Test, a: Thing, b: Thing | None, binding: Binding) -> bool:
        state, op = self.state, test.op
        if op == "is" or op == "least" or op == "most":
            return self._compare(test, a, binding)
        assert b is not None
        if op == "attached":
            if a.place_var >= 0:
                self.reads.append(a.place_var)
                return state.values[a.place_var] is b
            if a.held_var < 0:
                return False
            self.reads.append(a.held_var)
            manner = test.manner
            for how, holder in state.values[a.held_var] or ():
                if holder is b and (manner is None or how == manner):
                    return True
            return manner is None and a.from_var >= 0 and self._ends(a, b)
        if op == "located":
            walk = state.chain(a)
            self.reads += [var for _, var in walk if var >= 0]
            where = walk[-1][0]
            return where.sort == "location" and (where is b or b.index in where.stations)
        if op == "reach":
            met, reads = state.meet(a, b)
            self.reads += reads
            return met
        if op == "sight":
            return self._in_sight(a, b)
        if op == "from" or op == "to":
            var = a.from_var if op == "from" else a.to_var
            if var < 0:
                return False
            self.reads.append(var)
            return state.values[var] is b
        if op == "working":
            return any(w is a and on is b for w, on in self.working)
        if op == "moving":
            return any(m is a and (at is b or b.index in at.stations) for m, at in self.moving)
        return False

    def _in_sight(self, a: Thing, b: Thing) -> bool:
        """At one place, or at places that see one another; a fitting counts as the places that reach it."""
        walks = [self.state.chain(thing) for thing in (a, b)]
        self.reads += [var for walk in walks for _, var in walk if var >= 0]
        here, there = (walk[-1][0] for walk in walks)
        if here.sort != "location" or there.sort != "location":
            return False
        if not here.stations.isdisjoint(there.stations):
            return True
        return any(other.index in there.stations for one in (here, *here.near) for other in one.sees)  # sight is mutual

    def _ends(self, line: Thing, holder: Thing) -> bool:
        """``on`` of a line counts its ends too. One that decides is all that was read."""
        for var in (line.from_var, line.to_var):
            if self.state.values[var] is holder:
                self.reads[-1] = var
                return True
        self.reads += [line.from_var, line.to_var]
        return False

    def _compare(self, test: Test, a: Thing, binding: Binding) -> bool:
        assert test.prop is not None and test.value is not None
        var = a.prop_vars.get(test.prop, -1)
        if var >= 0:
            self.reads.append(var)
            value = self.state.values[var]
        else:
            value = a.values.get(test.prop)
        wanted = self.formula(test.value, binding)
        if test.op == "is":
            return bool(value == wanted) and value is not None
        if not isinstance(value, Fraction) or not isinstance(wanted, Fraction):
            return False
        return value >= wanted if test.op == "least" else value <= wanted

    def formula(self, formula: Formula, binding: Binding) -> Any:
        """The value of a formula now: a Fraction, a word, a thing; None where it has none (a division by zero too)."""
        if isinstance(formula, Const):
            return formula.value
        if isinstance(formula, (Slot, Thing)):
            return self.term(formula, binding)
        if isinstance(formula, SlotNumber):
            return binding[formula.slot.index]
        if isinstance(formula, TotalOf):
            thing = self.term(formula.term, binding)
            return thing.totals.get(formula.prop) if thing else None
        if isinstance(formula, PropertyValue):
            thing = self.term(formula.term, binding)
            if thing is None:
                return None
            var = thing.prop_vars.get(formula.prop, -1)
            if var >= 0:
                self.reads.append(var)
            return self.state.value(thing, formula.prop)
        if isinstance(formula, RouteLength):
            return self.route
        if isinstance(formula, Arithmetic):
            left, right = self.formula(formula.left, binding), self.formula(formula.right, binding)
            if not isinstance(left, Fraction) or not isinstance(right, Fraction) or (formula.op == "/" and right == 0):
                return None
            return calculate(formula.op, left, right)
        if isinstance(formula, EffortRate):
            return None  # only what drains a supply knows of efforts
        argument = self.formula(formula.argument, binding)
        return look_up(formula.table, argument) if isinstance(argument, Fraction) else None
