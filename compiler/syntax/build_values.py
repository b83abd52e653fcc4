"""Builders of values, formulas and literals: each is named like the rule or alias of the grammar that calls it."""

from __future__ import annotations

from typing import Any

from jackstay.syntax import tree
from jackstay.syntax.tree import At, Formula, Literal, Name, Number, Quantity, Ref, Text, UnitTerm


class Reject(Exception):
    """The words are in order but what they say cannot be. at: the place; found: the words; hint: as in parsing."""

    def __init__(self, at: At, found: str, hint: str) -> None:
        super().__init__(hint)
        self.at = at
        self.found = found
        self.hint = hint


def across(first: At, last: At) -> At:
    """From one word to another; when they stand on different lines, the first one alone."""
    return At(first.down, first.start, last.end) if first.down == last.down else first


def unit_text(term: UnitTerm) -> str:
    """A unit as one would write it."""
    text = ""
    for unit, power in term.powers:
        sign = "" if not text and power > 0 else "*" if power > 0 else "/"
        text += (sign or "") + unit + (f"^{abs(power)}" if abs(power) != 1 else "")
    return text


def as_written(word: tree.PhraseWord) -> str:
    """The text of a word of a phrase."""
    if isinstance(word, Quantity):
        return " ".join(f"{number} {unit_text(term)}" for number, term in word.parts)
    return word.value if isinstance(word, Text) else word.text


def single_unit(quantity: Quantity) -> tuple[Number, Name]:
    """``2 bolts`` as a number and a name, where a form has those two in a row. Raises Reject."""
    if len(quantity.parts) != 1 or len(quantity.parts[0][1].powers) != 1 or quantity.parts[0][1].powers[0][1] != 1:
        raise Reject(quantity.at, as_written(quantity), "one-unit")
    number, term = quantity.parts[0]
    at = quantity.at
    return Number(number, At(at.down, at.start, at.start + len(number))), Name(term.powers[0][0], term.at)


# --- formulas ------------------------------------------------------------------------------------------------------


def _binary(op: str, left: Formula, right: Formula) -> Formula:
    return tree.Binary(op, left, right, across(left.at, right.at))


def plus(left: Formula, right: Formula) -> Formula:
    return _binary("+", left, right)


def minus(left: Formula, right: Formula) -> Formula:
    return _binary("-", left, right)


def times(left: Formula, right: Formula) -> Formula:
    return _binary("*", left, right)


def over(left: Formula, right: Formula) -> Formula:
    return _binary("/", left, right)


def property_of(prop: Name, of: Name) -> Formula:
    return tree.PropertyOf(prop, of, across(prop.at, of.at))


def lookup(table: Name, argument: Formula) -> Formula:
    return tree.Lookup(table, argument, across(table.at, argument.at))


def power(unit: Name, exponent: Number | None) -> tuple[Name, int]:
    if exponent is None:
        return unit, 1
    if not exponent.text.lstrip("-").isdigit() or len(exponent.text) > 3:
        raise Reject(exponent.at, exponent.text, "whole-number")
    return unit, int(exponent.text)


def unit_term(*parts: Any) -> UnitTerm:
    """(unit, power), operator, (unit, power), ..."""
    return product((), parts)


def product(start: tuple[tuple[str, int], ...], parts: tuple[Any, ...]) -> UnitTerm:
    powers = list(start)
    sign, places = 1, []
    for part in parts:
        if isinstance(part, Name):
            sign = -1 if part.text == "/" else 1
        else:
            powers.append((part[0].text, sign * part[1]))
            places.append(part[0].at)
    return UnitTerm(tuple(powers), across(places[0], places[-1]) if places else At(0, 0, 0))


# --- literals --------------------------------------------------------------------------------------------------------


def ref(name: Name) -> Ref:
    return Ref("", name, None, name.at)


def quantified(word: Name, kind: Name | None) -> Ref:
    quant = "a" if word.text == "an" else word.text
    return Ref(quant, None, kind, word.at if kind is None else across(word.at, kind.at))


def typed_slot(name: Name, kind: Name) -> Ref:
    return Ref("", name, kind, across(name.at, kind.at))


def attached(subject: Ref, negated: Name | None, word: Name, obj: Ref) -> Literal:
    return tree.Attached(subject, negated is not None, word.text, None, obj, across(subject.at, obj.at))


def attached_by(subject: Ref, negated: Name | None, word: Name, manner: Name, obj: Ref) -> Literal:
    return tree.Attached(subject, negated is not None, word.text, manner, obj, across(subject.at, obj.at))


def located(subject: Ref, negated: Name | None, _at: Name, place: Ref) -> Literal:
    return tree.Located(subject, negated is not None, place, across(subject.at, place.at))


def reach(subject: Ref, negated: Name | None, word: Name, of: Ref | None) -> Literal:
    return tree.Reach(subject, negated is not None, of, across(subject.at, word.at if of is None else of.at))


def in_sight(subject: Ref, negated: Name | None, _sight: Name, obj: Ref) -> Literal:
    return tree.Sight(subject, negated is not None, obj, across(subject.at, obj.at))


def line_end(subject: Ref, negated: Name | None, end: Name, obj: Ref) -> Literal:
    return tree.LineEnd(subject, negated is not None, end.text, obj, across(subject.at, obj.at))


def compared(subject: Ref, _is: Name, negated: Name | None, value: Formula) -> Literal:
    return tree.Compared(None, subject, negated is not None, "is", value, across(subject.at, value.at))


def compared_property(prop: Name, subject: Ref, _is: Name, negated: Name | None, value: Formula) -> Literal:
    return tree.Compared(prop, subject, negated is not None, "is", value, across(prop.at, value.at))


def compared_aboard(
    prop: Name, quant: Name, kind: Name, _word: Name, holder: Ref, _is: Name, value: Formula
) -> Literal:
    subject = Ref(quant.text, None, kind, across(quant.at, holder.at))
    return tree.Compared(prop, subject, False, "is", value, across(prop.at, value.at), holder)


def bounded_property(prop: Name, subject: Ref, op: Name, value: Formula) -> Literal:
    return tree.Compared(prop, subject, False, op.text, value, across(prop.at, value.at))


def working_on(subject: Ref, negated: Name | None, obj: Ref) -> Literal:
    return tree.WorkingOn(subject, negated is not None, obj, across(subject.at, obj.at))


def moving_at(subject: Ref, negated: Name | None, place: Ref) -> Literal:
    return tree.MovingAt(subject, negated is not None, place, across(subject.at, place.at))


def literals(*parts: Literal) -> tuple[Literal, ...]:
    return parts


def effect(literal: Literal, _from: Name | None, afar: Name | None) -> tree.Effect:
    return tree.Effect(literal, afar is not None, literal.at if afar is None else across(literal.at, afar.at))


def effects(*parts: tree.Effect) -> tuple[tree.Effect, ...]:
    return parts


def names(*parts: Name) -> tuple[Name, ...]:
    return parts


def outcome(*words: tree.PhraseWord) -> Text:
    return Text(" ".join(as_written(word) for word in words), across(words[0].at, words[-1].at))


def module(*parts: Name) -> Name:
    return Name("".join(part.text for part in parts), across(parts[0].at, parts[-1].at))
