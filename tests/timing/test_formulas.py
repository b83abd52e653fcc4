"""Formulas: exact numbers, tables with their rounding, unknown parts kept unknown."""

from __future__ import annotations

from fractions import Fraction

import pytest

from jackstay.model.records import (
    Arithmetic,
    Const,
    EffortRate,
    Kind,
    PropertyValue,
    RouteLength,
    Slot,
    SlotNumber,
    Table,
    TableLookup,
    TableRow,
    Thing,
)
from jackstay.source.spans import NOWHERE
from jackstay.timing.formulas import evaluate, look_up

UNIT = Kind("unit", "Unit", "item", NOWHERE)


def number(value: int) -> Const:
    return Const(Fraction(value), (), str(value))


def rows(rounding: str) -> Table:
    return Table(
        "t",
        (),
        (),
        rounding,
        tuple(TableRow(Fraction(k), Fraction(v)) for k, v in ((25, 1102), (30, 371), (35, 232))),
        NOWHERE,
    )


@pytest.mark.parametrize(
    ("rounding", "key", "value"),
    [
        ("up", 26, 371),
        ("up", 30, 371),
        ("up", 0, 1102),
        ("up", 36, None),
        ("down", 29, 1102),
        ("down", 30, 371),
        ("down", 99, 232),
        ("down", 24, None),
        ("exact", 30, 371),
        ("exact", 31, None),
    ],
)
def test_a_table_takes_the_row_its_rounding_says(rounding: str, key: int, value: int | None) -> None:
    found = look_up(rows(rounding), Fraction(key))
    assert found == (None if value is None else Fraction(value))


def test_a_property_is_read_from_the_state_not_from_the_start() -> None:
    thing = Thing(0, "lamp", "Lamp", "item", UNIT, NOWHERE, values={"bolts": Fraction(4), "mass": Fraction(7)})
    thing.prop_vars["bolts"] = 0
    slot = Slot(2, "UNIT", UNIT)
    assert evaluate(PropertyValue("bolts", slot, ()), [Fraction(1)], (None, None, thing)) == 1
    assert evaluate(PropertyValue("mass", slot, ()), [Fraction(1)], (None, None, thing)) == 7


def test_arithmetic_is_exact() -> None:
    third = Arithmetic("/", number(1), number(3), ())
    assert evaluate(Arithmetic("*", third, number(3), ()), [], ()) == 1
    assert evaluate(Arithmetic("-", number(1), third, ()), [], ()) == Fraction(2, 3)


@pytest.mark.parametrize("op", ["+", "-", "*", "/"])
def test_an_unknown_part_makes_the_whole_unknown(op: str) -> None:
    unknown = PropertyValue("mass", Slot(2, "UNIT", UNIT), ())
    bare = Thing(0, "lamp", "Lamp", "item", UNIT, NOWHERE)
    assert evaluate(Arithmetic(op, number(1), unknown, ()), [], (None, None, bare)) is None


def test_a_division_by_nothing_is_unknown_and_no_crash() -> None:
    assert evaluate(Arithmetic("/", number(1), number(0), ()), [], ()) is None


def test_a_slot_s_number_the_route_and_a_look_up() -> None:
    assert evaluate(SlotNumber(Slot(2, "N", None)), [], (None, None, Fraction(5))) == 5
    assert evaluate(RouteLength(()), [], (), Fraction(53, 2)) == Fraction(53, 2)
    assert evaluate(TableLookup(rows("up"), number(31), ()), [], ()) == 232
    assert evaluate(TableLookup(rows("up"), number(40), ()), [], ()) is None


def test_an_effort_is_whatever_is_being_done() -> None:
    drain = Arithmetic("*", EffortRate(()), number(3), ())
    assert evaluate(drain, [], [], effort=Fraction(100)) == 300
    assert evaluate(drain, [], []) is None
    assert evaluate(TableLookup(rows("up"), EffortRate(()), ()), [], [], effort=Fraction(26)) == 371
