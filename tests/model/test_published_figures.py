"""Figures of the vocabularies that a publication has: entry by entry, each with its source."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest

from jackstay.model.formulas import look_up
from jackstay.model.from_syntax import WorldBuilder
from jackstay.model.records import Action, Table, World
from jackstay.model.scope import LetValue
from jackstay.source.library import Library
from jackstay.syntax.modules import load

FOOT, MINUTE = Fraction("0.3048"), 60
PERCENT = Fraction(1)

# US Navy Diving Manual, Revision 7 (2016), Table 9-7: depth in feet of sea water, no-stop minutes. As a public
# transcription has them; not read in the manual itself, which the vocabulary says on every print.
NO_STOP = {
    25: 1102, 30: 371, 35: 232, 40: 163, 45: 125, 50: 92, 55: 74, 60: 63, 70: 48, 80: 39, 90: 33, 100: 25, 110: 20,
    120: 15, 130: 12, 140: 10, 150: 8, 160: 7, 170: 6, 180: 6, 190: 5,
}  # fmt: skip


def built(tmp_path: Path, module: str) -> WorldBuilder:
    (tmp_path / "plan.stay").write_text(f"use {module}\n", encoding="utf-8")
    builder = WorldBuilder(load(Library(tmp_path), "plan").modules)  # type: ignore[arg-type]
    _, problems = builder.build()
    assert not problems
    return builder


def no_stop(tmp_path: Path) -> Table:
    found = built(tmp_path, "dive").scopes["dive"].own_things["no-stop"]
    assert isinstance(found, Table)
    return found


def test_the_no_stop_table_is_the_published_one(tmp_path: Path) -> None:
    table = no_stop(tmp_path)
    assert {row.key / FOOT: row.value / MINUTE for row in table.rows} == NO_STOP
    assert table.origin is not None and "Revision 7 (2016), Table 9-7" in table.origin.text
    assert not table.origin.verified, "nobody has held it against the manual itself"


@pytest.mark.parametrize(
    ("feet", "minutes"), [(Fraction("59.9"), 63), (60, 63), (Fraction("60.1"), 48), (154, 7), (10, 1102), (191, None)]
)
def test_between_two_rows_the_deeper_one_counts(feet: Fraction | int, minutes: int | None, tmp_path: Path) -> None:
    found = look_up(no_stop(tmp_path), feet * FOOT)
    assert found == (None if minutes is None else minutes * MINUTE)


def test_rates_of_going_down_and_coming_up(tmp_path: Path) -> None:
    """US Navy Diving Manual, Revision 7 (2016), head of Table 9-9: 75 and 30 ft/min."""
    things = built(tmp_path, "dive").scopes["dive"].own_things
    for name, rate in (("descent-rate", 75), ("ascent-rate", 30)):
        value = things[name]
        assert isinstance(value, LetValue)
        assert value.value.value == rate * FOOT / MINUTE
        (origin,) = value.value.origins
        assert not origin.verified and "Table 9-9" in origin.text


def action(world: World, words: str) -> Action:
    return next(one for one in world.actions if one.text.startswith(words))


@pytest.mark.parametrize(
    ("words", "low", "high"), [("test oxygen", Fraction("19.5"), Fraction("23.5")), ("test flammable gas", 0, 10)]
)
def test_limits_of_the_air(words: str, low: Fraction, high: Fraction, tmp_path: Path) -> None:
    """29 CFR 1910.146(b), hazardous atmosphere: oxygen below 19.5 or above 23.5 percent, flammable gas above 10 percent
    of its lower limit."""
    found = action(built(tmp_path, "entry").world, words)
    assert found.expects is not None and found.expects_origin is not None
    assert (found.expects.low.value, found.expects.high.value) == (low, high)
    assert found.expects_origin.verified and found.expects_origin.text.startswith("29 CFR 1910.146(b)")


def test_oxygen_is_tested_before_what_burns_and_that_before_what_poisons(tmp_path: Path) -> None:
    """29 CFR 1910.146(d)(5)(iii)"""
    world = built(tmp_path, "entry").world
    order = [action(world, f"test {what}") for what in ("oxygen", "flammable gas", "hydrogen sulphide")]
    for before, after in pairwise(order):
        made = {effect.test.prop for effect in before.effects}
        assert made and made <= {test.prop for test in after.needs if test.op == "is"}
