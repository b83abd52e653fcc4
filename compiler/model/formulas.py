"""Formulas: names resolved, dimensions checked."""

from __future__ import annotations

from fractions import Fraction

from jackstay.model.records import (
    NO_DIMENSION,
    Arithmetic,
    Const,
    Dimension,
    EffortRate,
    Formula,
    Measure,
    Origin,
    PropertyValue,
    RouteLength,
    Slot,
    SlotNumber,
    Table,
    TableLookup,
    Thing,
)
from jackstay.model.scope import LetValue
from jackstay.model.terms import Terms
from jackstay.model.units import dimension_text, times
from jackstay.syntax import tree


def dimension_of(formula: Formula) -> Dimension:
    """The dimension of a resolved formula; counts and words are bare."""
    return getattr(formula, "dimension", NO_DIMENSION)


def resolve(node: tree.Formula, terms: Terms) -> Formula | None:
    """A formula with names resolved; None when a finding was made."""
    at = terms.span(node.at)
    if isinstance(node, tree.Number):
        return Const(Fraction(node.text), NO_DIMENSION, node.text)
    if isinstance(node, tree.Quantity):
        measure = terms.units.quantity(node, at)
        return None if measure is None else Const(measure.value, measure.dimension, measure.text)
    if isinstance(node, tree.Name):
        return _resolve_name(node, terms)
    if isinstance(node, tree.PropertyOf):
        term = terms.name_term(node.of)
        if term is None:
            return None
        prop = terms.property_of(node.prop, term)
        return None if prop is None else PropertyValue(prop.name, term, prop.dimension)
    if isinstance(node, tree.Lookup):
        found = terms.scope.thing(node.table.text)
        if not isinstance(found, Table):
            tables = [c for c in terms.scope.all_names() if isinstance(terms.scope.thing(c[0]), Table)]
            if node.table.text not in terms.scope.broken:
                terms.notebook.add(
                    "unknown-name",
                    terms.span(node.table.at),
                    name=node.table.text,
                    wanted="a table",
                    candidates=tables,
                    places=[],
                    elsewhere=terms.scope.elsewhere("things", node.table.text),
                )
            return None
        argument = resolve(node.argument, terms)
        if argument is None or not expect(
            argument, found.argument, node.argument, terms, "what this table is looked up by"
        ):
            return None
        return TableLookup(found, argument, found.result)
    left, right = resolve(node.left, terms), resolve(node.right, terms)
    if left is None or right is None:
        return None
    a, b = dimension_of(left), dimension_of(right)
    if node.op in "+-":
        if a != b:
            terms.notebook.add(
                "wrong-dimension",
                at,
                found=dimension_text(b),
                wanted=dimension_text(a),
                what="the two sides of this sum",
            )
            return None
        return Arithmetic(node.op, left, right, a)
    return Arithmetic(node.op, left, right, times(a, b, 1 if node.op == "*" else -1))


def _resolve_name(node: tree.Name, terms: Terms) -> Formula | None:
    if node.text == "route" and terms.route is not None:
        return RouteLength(terms.route)
    if node.text == "effort" and terms.effort is not None:
        return EffortRate(terms.effort)
    slot = terms.slots.get(node.text)
    if slot is not None:
        return SlotNumber(slot) if node.text in terms.numbers else slot
    found = terms.scope.thing(node.text)
    if isinstance(found, LetValue):
        terms.notebook.figures += [(origin, terms.span(node.at)) for origin in found.value.origins]
        return Const(found.value.value, found.value.dimension, found.value.text, found.value.origins)
    if isinstance(found, Thing):
        return found
    terms.unknown(node, "a value")
    return None


def origins_of(formula: Formula) -> tuple[Origin, ...]:
    """Where the figures of a formula come from: its values and its tables, not the properties that it reads."""
    if isinstance(formula, Const):
        return formula.origins
    if isinstance(formula, TableLookup):
        own = (formula.table.origin,) if formula.table.origin is not None else ()
        return tuple(dict.fromkeys((*own, *origins_of(formula.argument))))
    if isinstance(formula, Arithmetic):
        return tuple(dict.fromkeys((*origins_of(formula.left), *origins_of(formula.right))))
    return ()


def reads_things(formula: Formula) -> bool:
    """Whether a formula reads a property of something."""
    if isinstance(formula, Arithmetic):
        return reads_things(formula.left) or reads_things(formula.right)
    return isinstance(formula, PropertyValue) or (isinstance(formula, TableLookup) and reads_things(formula.argument))


def mentions_way(formula: Formula) -> bool:
    """Whether a formula speaks of the length of an inserted move."""
    if isinstance(formula, Arithmetic):
        return mentions_way(formula.left) or mentions_way(formula.right)
    return isinstance(formula, RouteLength) or (isinstance(formula, TableLookup) and mentions_way(formula.argument))


def expect(formula: Formula, wanted: Dimension, node: tree.Formula, terms: Terms, what: str) -> bool:
    """Whether the formula has the wanted dimension; a finding if not."""
    found = dimension_of(formula)
    if found == wanted and not isinstance(formula, (Thing, Slot)):
        return True
    text = "a thing" if isinstance(formula, (Thing, Slot)) else dimension_text(found)
    terms.notebook.add("wrong-dimension", terms.span(node.at), found=text, wanted=dimension_text(wanted), what=what)
    return False


def constant(node: tree.Formula, terms: Terms) -> Measure | None:
    """A formula whose value is known now: numbers, quantities, ``let`` names and arithmetic on them."""
    formula = resolve(node, terms)
    if formula is None:
        return None
    value = fold(formula)
    if value is None:
        terms.notebook.add("not-a-constant", terms.span(node.at), why=why_unknown(formula))
        return None
    text = formula.text if isinstance(formula, Const) else str(value)
    return Measure(value, dimension_of(formula), text, origins_of(formula))


def why_unknown(formula: Formula) -> str:
    """Why a formula has no value yet: ``zero`` (divided by nothing), ``row`` (the table has none for it), ``state``."""
    if isinstance(formula, Arithmetic):
        left, right = fold(formula.left), fold(formula.right)
        if left is not None and right is not None:
            return "zero"
        return why_unknown(formula.left if left is None else formula.right)
    if isinstance(formula, TableLookup):
        return "row" if fold(formula.argument) is not None else why_unknown(formula.argument)
    return "state"


def fold(formula: Formula) -> Fraction | None:
    """The value of a constant formula, else None (also for a division by zero)."""
    if isinstance(formula, Const) and isinstance(formula.value, Fraction):
        return formula.value
    if isinstance(formula, Arithmetic):
        left, right = fold(formula.left), fold(formula.right)
        if left is None or right is None or (formula.op == "/" and right == 0):
            return None
        return calculate(formula.op, left, right)
    if isinstance(formula, TableLookup):
        argument = fold(formula.argument)
        return None if argument is None else look_up(formula.table, argument)
    return None


def calculate(op: str, left: Fraction, right: Fraction) -> Fraction:
    """One arithmetic step; the caller has excluded a division by zero."""
    if op == "+":
        return left + right
    if op == "-":
        return left - right
    return left * right if op == "*" else left / right


def look_up(table: Table, key: Fraction) -> Fraction | None:
    """The table's value by its stated rounding: up takes the next written key, down the one before."""
    before = None
    for row in table.rows:
        if row.key == key:
            return row.value
        if row.key > key:
            return row.value if table.rounding == "up" else before if table.rounding == "down" else None
        before = row.value
    return before if table.rounding == "down" else None
