"""The value of a formula in a state: exact, in base units, or None where a part of it is not known."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from jackstay.model.records import (
    Arithmetic,
    Const,
    EffortRate,
    Formula,
    Here,
    PropertyValue,
    RouteLength,
    Slot,
    SlotNumber,
    Table,
    TableLookup,
    Term,
    Thing,
    Value,
)


def property_in(state: Sequence[Any], thing: Thing, prop: str) -> Value:
    """The property's value now; one that never changes is read from the thing itself."""
    var = thing.prop_vars.get(prop, -1)
    if var >= 0:
        value: Value = state[var]
        return value
    return thing.values.get(prop)


def location_in(state: Sequence[Any], thing: Thing | None) -> Thing | None:
    """The location at the end of what the thing stands on, rides, hangs on or lies in. None: it hangs on nothing."""
    seen: set[int] = set()
    while thing is not None and thing.sort != "location":
        if thing.index in seen:
            return None
        seen.add(thing.index)
        thing = next_up(state, thing)
    return thing


def next_up(state: Sequence[Any], thing: Thing) -> Thing | None:
    """What a thing stands on, rides, hangs on first or lies in."""
    place: Thing | None = state[thing.place_var] if thing.place_var >= 0 else thing.place
    if place is not None:
        return place
    held = state[thing.held_var] if thing.held_var >= 0 else thing.placed
    if held:
        holder: Thing = held[0].holder
        return holder
    # A line that hangs nowhere itself is where its far end is, which its user carries along.
    far: Thing | None = state[thing.to_var] if thing.to_var >= 0 else thing.to_end
    if far is not None:
        return far
    return state[thing.from_var] if thing.from_var >= 0 else thing.from_end


def look_up(table: Table, key: Fraction) -> Fraction | None:
    """The row for a key by the table's own rounding; None beyond its rows."""
    if table.rounding == "up":
        return next((row.value for row in table.rows if row.key >= key), None)
    if table.rounding == "down":
        return next((row.value for row in reversed(table.rows) if row.key <= key), None)
    return next((row.value for row in table.rows if row.key == key), None)


def leaves(formula: Formula) -> Iterator[Formula]:
    """What a formula reads, and its constants: the ends of its arithmetic and look-ups."""
    if isinstance(formula, Arithmetic):
        yield from leaves(formula.left)
        yield from leaves(formula.right)
    elif isinstance(formula, TableLookup):
        yield from leaves(formula.argument)
    else:
        yield formula


def evaluate(
    formula: Formula,
    state: Sequence[Any],
    binding: Sequence[Any],
    length: Fraction = Fraction(0),
    effort: Fraction | None = None,
) -> Fraction | None:
    """The formula's number in this state. length: of the way an inserted move takes, in base units. effort: the rate
    of what the actor is doing (None: nobody says), in base units of its dimension."""
    if isinstance(formula, Const):
        return formula.value if isinstance(formula.value, Fraction) else None
    if isinstance(formula, (SlotNumber, Slot)):
        slot = formula.slot if isinstance(formula, SlotNumber) else formula
        return _number(binding[slot.index]) if slot.index < len(binding) else None
    if isinstance(formula, PropertyValue):
        thing = _thing(formula.term, state, binding)
        return None if thing is None else _number(property_in(state, thing, formula.prop))
    if isinstance(formula, RouteLength):
        return length
    if isinstance(formula, TableLookup):
        key = evaluate(formula.argument, state, binding, length, effort)
        return None if key is None else look_up(formula.table, key)
    if isinstance(formula, Arithmetic):
        return _arithmetic(formula, state, binding, length, effort)
    return effort if isinstance(formula, EffortRate) else None


def _arithmetic(
    formula: Arithmetic, state: Sequence[Any], binding: Sequence[Any], length: Fraction, effort: Fraction | None
) -> Fraction | None:
    left = evaluate(formula.left, state, binding, length, effort)
    right = evaluate(formula.right, state, binding, length, effort)
    if left is None or right is None:
        return None
    if formula.op == "+":
        return left + right
    if formula.op == "-":
        return left - right
    if formula.op == "*":
        return left * right
    return left / right if right else None  # a division by nothing has no value


def _thing(term: Term, state: Sequence[Any], binding: Sequence[Any]) -> Thing | None:
    if isinstance(term, Thing):
        return term
    if isinstance(term, Slot):
        value = binding[term.index] if term.index < len(binding) else None
        return value if isinstance(value, Thing) else None
    if isinstance(term, Here):
        return location_in(state, binding[0] if binding else None)
    return None


def _number(value: object) -> Fraction | None:
    if isinstance(value, Fraction):
        return value
    if isinstance(value, int) and not isinstance(value, bool):
        return Fraction(value)
    return None
