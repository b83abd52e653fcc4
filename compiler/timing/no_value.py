"""Why a formula has no value in a state: the first part of it that has none though its own parts have one."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.model.records import (
    Arithmetic,
    Formula,
    Here,
    PropertyValue,
    Slot,
    SlotNumber,
    Table,
    TableLookup,
    Term,
    Thing,
)
from jackstay.timing.formulas import evaluate, location_in


class Cause(NamedTuple):
    """what: ``row`` (the table has none for the key), ``divisor`` (part is nothing), ``value`` (part has none).
    part: the formula with what it speaks of put in: the table's argument, the divisor, or what has no value."""

    what: str
    part: Formula
    table: Table | None = None
    key: Fraction | None = None


def why_no_value(
    formula: Formula | None, state: Sequence[Any], binding: Sequence[Any], length: Fraction
) -> Cause | None:
    """None: it has a value."""
    if formula is None or evaluate(formula, state, binding, length) is not None:
        return None
    if isinstance(formula, TableLookup):
        key = evaluate(formula.argument, state, binding, length)
        if key is None:
            return why_no_value(formula.argument, state, binding, length)
        return Cause("row", _said(formula.argument, state, binding), formula.table, key)
    if isinstance(formula, Arithmetic):
        for side in (formula.left, formula.right):
            found = why_no_value(side, state, binding, length)
            if found is not None:
                return found
        return Cause("divisor", _said(formula.right, state, binding))
    return Cause("value", _said(formula, state, binding))


def _said(formula: Formula, state: Sequence[Any], binding: Sequence[Any]) -> Formula:
    """The formula with things and numbers for its slots, so that one cause of several steps is the same."""
    if isinstance(formula, PropertyValue):
        return formula._replace(term=_term(formula.term, state, binding))
    if isinstance(formula, SlotNumber):
        value = binding[formula.slot.index] if formula.slot.index < len(binding) else None
        return formula if value is None else SlotNumber(formula.slot._replace(name=str(value)))
    if isinstance(formula, Arithmetic):
        left, right = (_said(side, state, binding) for side in (formula.left, formula.right))
        return formula._replace(left=left, right=right)
    if isinstance(formula, TableLookup):
        return formula._replace(argument=_said(formula.argument, state, binding))
    return formula


def _term(term: Term, state: Sequence[Any], binding: Sequence[Any]) -> Term:
    if isinstance(term, Here):
        return location_in(state, binding[0] if binding else None) or term
    if isinstance(term, Slot) and term.index < len(binding) and isinstance(binding[term.index], Thing):
        found: Thing = binding[term.index]
        return found
    return term
