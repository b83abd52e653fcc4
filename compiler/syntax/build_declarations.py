"""Builders of what stands outside excursions: values, kinds, things, actions, rules."""

from __future__ import annotations

from typing import Any, NamedTuple

from jackstay.syntax import tree
from jackstay.syntax.build_values import Reject, across, product, single_unit
from jackstay.syntax.tree import At, Effect, Formula, Literal, Name, Number, Origin, Quantity, Ref, Text, UnitTerm

# --- values -----------------------------------------------------------------------------------------------------------


def use(module: Name, alias: Name | None) -> tree.Use:
    return tree.Use(module, alias)


def let(name: Name, value: Formula, origin: Origin | None) -> tree.Let:
    return tree.Let(name, value, origin)


def dimension(name: Name) -> tree.Dimension:
    return tree.Dimension(name)


def unit_base(name: Name, measures: Name) -> tree.UnitDecl:
    return tree.UnitDecl(name, measures, "1", None, None)


def unit_product(name: Name, term: UnitTerm) -> tree.UnitDecl:
    return tree.UnitDecl(name, None, "1", term, None)


def _one_part(quantity: Quantity) -> tuple[str, UnitTerm]:
    if len(quantity.parts) != 1:
        raise Reject(quantity.at, "", "one-unit")
    return quantity.parts[0]


def unit_multiple(name: Name, quantity: Quantity, *more: Any) -> tree.UnitDecl:
    factor, term = _one_part(quantity)
    if more:
        term = UnitTerm(product(term.powers, more).powers, term.at)
    return tree.UnitDecl(name, None, factor, term, None)


def unit_scale(name: Name, quantity: Quantity, zero: Quantity) -> tree.UnitDecl:
    factor, term = _one_part(quantity)
    start, zero_term = _one_part(zero)
    if zero_term.powers != term.powers:
        raise Reject(zero.at, start, "same-unit")
    return tree.UnitDecl(name, None, factor, term, start)


def rounding_up() -> str:
    return "up"


def rounding_down() -> str:
    return "down"


def rounding_exact() -> str:
    return "exact"


def table_decl(
    name: Name, by_word: Name, unit: UnitTerm | None, gives: UnitTerm | None, rounding: str, origin: Origin | None
) -> tree.Table:
    return tree.Table(name, by_word, unit, gives, rounding, origin)


def row(key: Number, value: Number) -> tree.Row:
    return tree.Row(key, value)


# --- kinds ------------------------------------------------------------------------------------------------------------


class _Type(NamedTuple):
    values: tuple[Name, ...]
    is_count: bool
    unit: UnitTerm | None


def kind_decl(name: Name, title: Text | None, *parents: Name) -> tree.Kind:
    return tree.Kind(name, title, parents)


def choices(*values: Name) -> _Type:
    return _Type(values, False, None)


def counted(_word: Name) -> _Type:
    return _Type((), True, None)


def measured(unit: UnitTerm) -> _Type:
    return _Type((), False, unit)


def normally_default(value: Formula) -> tuple[str, Formula]:
    return "normally", value


def usually_default(value: Formula) -> tuple[str, Formula]:
    return "usually", value


def has(name: Name, type_: _Type, *parts: tuple[str, Formula] | Origin) -> tree.Has:
    given: dict[str, Formula] = {}
    defaults, origin = apart(parts, name)
    for word, value in defaults:
        if word in given:
            raise Reject(value.at, word, "said-twice")
        given[word] = value
    return tree.Has(name, type_.values, type_.is_count, type_.unit, given.get("normally"), given.get("usually"), origin)


def apart(parts: tuple[Any, ...], name: Name) -> tuple[list[Any], Origin | None]:
    """Where a figure comes from, told apart from what else a line says; it stands once."""
    origins = [part for part in parts if isinstance(part, Origin)]
    if len(origins) > 1:
        raise Reject(name.at, name.text, "said-twice")
    return [part for part in parts if not isinstance(part, Origin)], origins[0] if origins else None


def holds(limit: Number | Name, kind: Name | None, manner: Name, counting: Name | None) -> tree.Holds:
    return tree.Holds(None if isinstance(limit, Name) and limit.text == "any" else limit, kind, manner, counting)


def holds_of_kind(quantity: Quantity, manner: Name, counting: Name | None) -> tree.Holds:
    limit, kind = single_unit(quantity)
    return tree.Holds(limit, kind, manner, counting)


def carries(prop: Name, limit: Formula, origin: Origin | None) -> tree.Carries:
    return tree.Carries(prop, limit, origin)


def admits(limit: Number | Name, kind: Name | None) -> tree.Admits:
    return tree.Admits(limit, kind)


def admits_of_kind(quantity: Quantity) -> tree.Admits:
    return tree.Admits(*single_unit(quantity))


def flag_value(name: Name, value: Number | Name) -> tree.Flag:
    return tree.Flag(name, value)


def flag_alone(name: Name) -> tree.Flag:
    return tree.Flag(name, None)


def flag_inside(name: Name, each: Formula | None) -> tree.Flag:
    return tree.Flag(Name("inside", name.at), each)


# --- things -----------------------------------------------------------------------------------------------------------


def thing(
    sort: Name, names: tuple[Name, ...], title: Text | None, range_: tuple[int, int] | None, kind: Name,
    clauses: tuple[tree.ThingClause, ...],
) -> tree.Thing:  # fmt: skip
    return tree.Thing(sort.text, names, title, range_, kind, clauses)


def place(
    names: tuple[Name, ...], title: Text | None, range_: tuple[int, int] | None, kind: Name,
    clauses: tuple[tree.ThingClause, ...],
) -> tree.Thing:  # fmt: skip
    return tree.Thing("", names, title, range_, kind, clauses)


def area_heading(sort: Name, names: tuple[Name, ...], title: Text | None) -> tree.Thing:
    return tree.Thing(sort.text, names, title, None, None, ())


def range(first: Number, last: Number) -> tuple[int, int]:
    for number in (first, last):
        if not number.text.isdigit():
            raise Reject(number.at, number.text, "whole-number")
        if len(number.text) > 4:
            raise Reject(number.at, number.text, "group-too-large")
    if int(first.text) > int(last.text):
        raise Reject(last.at, last.text, "range-order")
    return int(first.text), int(last.text)


class _Bare(NamedTuple):
    names: tuple[Name, ...]
    at: At


def bare(*names: Name) -> _Bare:
    return _Bare(names, across(names[0].at, names[-1].at))


def clauses(*parts: tree.ThingClause | _Bare) -> tuple[tree.ThingClause, ...]:
    """Words that follow a list after a comma belong to that list: ``reaches bay4, porch``."""
    joined: list[tree.ThingClause] = []
    for part in parts:
        if not isinstance(part, _Bare):
            joined.append(part)
        elif joined and isinstance(joined[-1], tree.Within | tree.Reaches | tree.Sees):
            joined[-1] = type(joined[-1])(joined[-1].places + part.names)
        else:
            raise Reject(part.at, part.names[0].text, "missing-value")
    return tuple(joined)


def set_to(prop: Name, value: Formula) -> tree.SetTo:
    return tree.SetTo(prop, value, None)


def set_count(prop: Name, value: Number, total: Number) -> tree.SetTo:
    return tree.SetTo(prop, value, total)


def normally(value: Formula) -> tree.Normally:
    return tree.Normally(value)


def placed(word: Name, holder: Name) -> tree.Placed:
    return tree.Placed(word.text, None, holder)


def placed_by(word: Name, manner: Name, holder: Name) -> tree.Placed:
    return tree.Placed(word.text, manner, holder)


def line_ends(start: Name, end: Name) -> tree.Ends:
    return tree.Ends(start, end)


def within_reach(*places: Name) -> tree.Within:
    return tree.Within(places)


def run_by(actor: Name) -> tree.RunBy:
    return tree.RunBy(actor)


def reaches(*places: Name) -> tree.Reaches:
    return tree.Reaches(places)


def sees(*places: Name) -> tree.Sees:
    return tree.Sees(places)


def path(a: Name, b: Name, length: Formula, line_kind: Name | None, line_place: Name | None) -> tree.Path:
    return tree.Path(a, b, length, line_kind, line_place)


# --- actions, routines, rules -----------------------------------------------------------------------------------------


def pattern(*parts: tree.PatternPart | Name) -> tuple[tree.PatternPart, ...]:
    return tuple(fixed(part) if isinstance(part, Name) else part for part in parts)  # a comma is a word too


def fixed(word: Name) -> tree.PatternPart:
    return tree.PatternPart((word.text,), None, (), word.at)


def fixed_pair(word: Name, other: Name) -> tree.PatternPart:
    return tree.PatternPart((word.text, other.text), None, (), across(word.at, other.at))


def slot(name: Name, *kinds: Name) -> tree.PatternPart:
    return tree.PatternPart((), name, kinds, across(name.at, kinds[-1].at))


def action(pattern: tuple[tree.PatternPart, ...]) -> tree.Action:
    return tree.Action(pattern)


def routine(pattern: tuple[tree.PatternPart, ...]) -> tree.Routine:
    return tree.Routine(pattern)


def cast(*kinds: Name) -> tuple[Name, ...]:
    return kinds


def helped(kinds: tuple[Name, ...]) -> tuple[str, tuple[Name, ...]]:
    return "helped", kinds


def along(name: Name) -> tuple[str, tuple[Name, ...]]:
    return "along", (name,)


def by(kinds: tuple[Name, ...], *also: tuple[str, tuple[Name, ...]]) -> tree.By:
    helpers = [names for word, names in also if word == "helped"]
    if len(helpers) > 1:
        raise Reject(helpers[1][0].at, helpers[1][0].text, "said-twice")
    return tree.By(kinds, helpers[0] if helpers else (), tuple(names[0] for word, names in also if word == "along"))


def needs(literals: tuple[Literal, ...]) -> tree.Needs:
    return tree.Needs(literals)


def during(literals: tuple[Literal, ...]) -> tree.During:
    return tree.During(literals)


def uses(literals: tuple[Literal, ...]) -> tree.Uses:
    return tree.Uses(literals)


def works_on(*refs: Ref) -> tree.WorksOn:
    return tree.WorksOn(refs)


def makes(effects: tuple[Effect, ...]) -> tree.Makes:
    return tree.Makes(effects)


def serves(literal: Literal, along_word: Name | None) -> tree.Serves:
    return tree.Serves(literal, along_word is not None)


def effort(level: Name) -> tree.Effort:
    return tree.Effort(level)


def may(outcome: Text) -> tree.May:
    return tree.May(outcome)


def can_stop(after: Formula, leaves: tuple[Literal, ...] | None) -> tree.CanStop:
    return tree.CanStop(after, leaves or ())


def cannot_stop() -> tree.CanStop:
    return tree.CanStop(None, ())


def rule_decl(name: Name, title: Text | None) -> tree.Rule:
    return tree.Rule(name, title)


def never(literals: tuple[Literal, ...], longer: Formula | None, meanwhile: tuple[Literal, ...] | None) -> tree.Never:
    return tree.Never(literals, meanwhile or (), longer)


def never_again(literals: tuple[Literal, ...], again: Formula) -> tree.Never:
    return tree.Never(literals, (), None, again)


def always(literals: tuple[Literal, ...], every: Formula | None, meanwhile: tuple[Literal, ...] | None) -> tree.Always:
    return tree.Always(literals, meanwhile or (), every)
