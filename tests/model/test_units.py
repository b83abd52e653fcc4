"""Units, dimensions, tables: exact arithmetic, and what does not go together."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from worlds import clean, kind, rules_of, world_of

from jackstay.model.formulas import look_up
from jackstay.model.records import Table, TableRow
from jackstay.source.spans import NOWHERE
from jackstay.timing.formulas import evaluate


def base(folder: Path, written: str, unit: str) -> Fraction:
    """A quantity in the base units of its dimension."""
    world = clean(folder, f"use units\nkind probe is item\n  has figure: {unit}, usually {written}\n")
    value = kind(world, "probe").properties["figure"].usually
    assert isinstance(value, Fraction)
    return value


# NIST Special Publication 811 (2008), Appendix B.8 and B.9; there in bold, that is, exact.
EXACT = [
    ("1 inch", "m", "0.0254"),
    ("1 ft", "m", "0.3048"),
    ("1 lb", "kg", "0.45359237"),
    ("1 lbf", "N", "4.4482216152605"),
    ("1 bar", "Pa", "100000"),
    ("1 kcal", "J", "4186.8"),
    ("1 Btu", "J", "1055.05585262"),
    ("1 min", "s", "60"),
    ("1 h", "s", "3600"),
    ("1 d", "s", "86400"),
    ("1 l", "m^3", "0.001"),
    ("0 degC", "K", "273.15"),
    ("-40 degC", "K", "233.15"),
]


@pytest.mark.parametrize(("written", "unit", "value"), EXACT)
def test_exact_factors(tmp_path: Path, written: str, unit: str, value: str) -> None:
    assert base(tmp_path, written, unit) == Fraction(value)


# SP 811 B.8 as it prints them: rounded to seven digits.
ROUNDED = [("1 psi", "Pa", "6894.757"), ("1 Btu/h", "W", "0.2930711"), ("1 deg", "rad", "0.01745329")]


@pytest.mark.parametrize(("written", "unit", "value"), ROUNDED)
def test_rounded_factors(tmp_path: Path, written: str, unit: str, value: str) -> None:
    found = base(tmp_path, written, unit)
    assert abs(found - Fraction(value)) / found < Fraction(5, 10**7)


def test_fahrenheit(tmp_path: Path) -> None:
    """SP 811 B.8: K = (degF + 459.67) / 1.8. The vocabulary writes the ninths to 20 digits."""
    assert abs(base(tmp_path, "212 degF", "K") - Fraction("373.15")) < Fraction(1, 10**15)


def test_parts_are_added_exactly(tmp_path: Path) -> None:
    assert base(tmp_path, "6 h 30 min", "s") == 23400
    assert base(tmp_path, "0.1 m", "m") * 3 == Fraction(3, 10)


def test_a_zero_counts_only_for_the_scale_itself(tmp_path: Path) -> None:
    """A change of one degree an hour is not 274.15 K an hour."""
    assert base(tmp_path, "3600 degC/h", "K/s") == 1


def test_a_product_of_units(tmp_path: Path) -> None:
    assert base(tmp_path, "2 kN", "kg*m/s^2") == 2000


TABLE = tuple(TableRow(Fraction(key), Fraction(value)) for key, value in ((10, 2), (25, 3), (50, 5)))
UP = {"5": 2, "10": 2, "11": 3, "50": 5, "51": None}
DOWN = {"5": None, "10": 2, "24.9": 2, "25": 3, "51": 5}
ROUND_NOT = {"10": 2, "11": None, "51": None}


@pytest.mark.parametrize(("rounding", "values"), [("up", UP), ("down", DOWN), ("exact", ROUND_NOT)])
def test_rounding(rounding: str, values: dict[str, int | None]) -> None:
    table = Table("t", (), (), rounding, TABLE, NOWHERE)
    assert {key: look_up(table, Fraction(key)) for key in values} == values


def test_table_in_its_units(tmp_path: Path) -> None:
    """35 ft round up to 40; minutes come out as seconds."""
    world = clean(
        tmp_path,
        "use units\ntable stay by depth in ft gives min, round up\n  40 : 140\n  30 : 371\n"
        "kind dive is item\n  has limit: s, usually stay(35 ft)\n",
    )
    assert kind(world, "dive").properties["limit"].usually == 140 * 60


def test_values_in_any_order(tmp_path: Path) -> None:
    plan = "use units\nlet whole = half * 2\nkind rope is item\n  has length: m, usually whole\nlet half = 13 m\n"
    assert kind(clean(tmp_path, plan), "rope").properties["length"].usually == 26


HEAD = "use units\nkind rigger is actor\nkind tank is item\n  has mass: kg\n  has lugs: count, usually 2\n"


@pytest.mark.parametrize(
    ("line", "found", "wanted"),
    [
        ("takes mass of TANK", "mass", "time"),
        ("takes 3", "a bare number", "time"),
        ("takes 1 min + lugs of TANK", "a bare number", "time"),
        ("takes 1 min * mass of TANK", "mass*time", "time"),
        ("makes lugs of TANK is 1 kg", "mass", "a bare number"),
        ("needs mass of TANK at least 4 m", "length", "mass"),
    ],
)
def test_dimensions(tmp_path: Path, line: str, found: str, wanted: str) -> None:
    action = f"action brace TANK: tank\n  by rigger\n  takes 1 min\naction roll TANK: tank\n  by rigger\n  {line}\n"
    (problem,) = world_of(tmp_path, HEAD + action)[1]
    assert (problem.rule, problem.at.line) == ("wrong-dimension", 11)
    assert (problem.facts["found"], problem.facts["wanted"]) == (found, wanted)


def test_dimensions_that_cancel(tmp_path: Path) -> None:
    action = "action fill TANK: tank\n  by rigger\n  takes mass of TANK / flow of TANK\n"
    clean(tmp_path, f"{HEAD}  has flow: kg/s, usually 2 kg/s\n{action}")


def test_one_unknown_unit_is_told_once(tmp_path: Path) -> None:
    plan = "use units\nkind rope is item\n  has length: mtr, usually 3 mtr\nitem line-a : rope, length 4 mtr\n"
    assert rules_of(tmp_path, plan) == [("unknown-unit", 3)]


# NIST SP 811 B.9: the Btu (IT) an hour is 2.930 711 E-01 W; 4186.8 J over 3600 s are 1.163 W exactly.
POWERS = [("1 Btu/h", "W", "0.2930711"), ("1 kcal/h", "W", "1.163"), ("1 Wh", "J", "3600"), ("1 MJ", "kJ", "1000")]


@pytest.mark.parametrize(("written", "unit", "value"), POWERS)
def test_powers_and_energies(tmp_path: Path, written: str, unit: str, value: str) -> None:
    ratio = base(tmp_path, written, unit) / base(tmp_path, f"1 {unit}", unit)
    assert abs(ratio - Fraction(value)) / ratio < Fraction(5, 10**7)


# NASA mishap report S-2013-199-00005: the suit's metabolic design case, in Btu/h and W.
DESIGN_CASE = [(1000, 293), (850, 249), (2000, 586), (1600, 469), (350, 103), (700, 205)]


@pytest.mark.parametrize(("btu", "watts"), DESIGN_CASE)
def test_the_design_case_reads_the_same_in_both_units(tmp_path: Path, btu: int, watts: int) -> None:
    assert round(base(tmp_path, f"{btu} Btu/h", "W")) == watts


def test_the_efforts_shipped_are_those_of_the_design_case(tmp_path: Path) -> None:
    world = clean(tmp_path, "use units\nuse suited\n")
    assert {name: round(effort.rate.value) for name, effort in world.efforts.items()} == {
        "rest": 103,
        "light": 205,
        "medium": 293,
        "heavy": 469,
    }


def test_the_supplies_shipped_last_the_design_case(tmp_path: Path) -> None:
    """7 h at the mean of 1000 Btu/h leave every reserve alone. Worked by hand: 7000 Btu are 7.3854 MJ."""
    world = clean(tmp_path, "use units\nuse suited\n")
    suited = kind(world, "suited")
    mean = world.efforts["medium"].rate.value
    for supply in suited.supplies:
        assert supply.drains is not None and supply.reserve is not None
        rate = evaluate(supply.drains, (), (), effort=mean)
        assert rate is not None and rate > 0
        assert supply.amount.value - 7 * 3600 * rate >= supply.reserve.value
    by_name = {supply.name: supply for supply in suited.supplies}
    used = {name: evaluate(one.drains, (), (), effort=mean) * 7 * 3600 for name, one in by_name.items() if one.drains}  # type: ignore[operator]
    assert float(used["oxygen"]) == pytest.approx(7385.4 * 0.0694 / 1000, rel=1e-4)
    assert float(used["scrubber"]) == pytest.approx(7385.4 * 0.0864 / 1000, rel=1e-4)
    assert float(used["water"]) == pytest.approx((7385.4 + 2520) / 2838, rel=1e-4)
    assert used["battery"] == 420 * 3600
