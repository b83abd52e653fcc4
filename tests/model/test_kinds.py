"""Kinds: what they inherit, and what raises nothing further once it is told."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from worlds import clean, kind, rules_of, thing, world_of

CRATE = """
use units
kind load is item
  has mass: kg, usually 1 kg
  has grips: count, usually 1
kind unit is load
  has grips: count, usually 2
  has bolts: count, normally all
  holds 1 load by catch
kind pack is item
  has pockets: count, usually 6
  holds pockets load by pocket
kind crate is unit and pack
  has lid: open or shut, normally shut
  holds 2 load by net
location row : yard
kind yard is location
  holds any item by chock
item big : crate, bolts 3 of 4, on row
"""


def test_two_parents(tmp_path: Path) -> None:
    world = clean(tmp_path, CRATE)
    crate = kind(world, "crate")
    assert list(crate.properties) == ["mass", "grips", "bolts", "pockets", "lid"]
    assert crate.properties["grips"] is kind(world, "unit").properties["grips"]
    assert [k.name for k in crate.lineage] == ["crate", "unit", "load", "pack", "item", "thing"]
    assert crate.sort == "item"


def test_own_holds_come_first(tmp_path: Path) -> None:
    """What hangs on a thing without a word of how takes the first line that fits: own lines, then inherited ones."""
    assert [h.manner for h in kind(clean(tmp_path, CRATE), "crate").holds] == ["net", "catch", "pocket"]


def test_values_of_a_thing(tmp_path: Path) -> None:
    big = thing(clean(tmp_path, CRATE), "big")
    assert big.values == {"mass": 1, "grips": 2, "bolts": 3, "pockets": 6, "lid": "shut"}
    assert big.totals["bolts"] == 4
    assert big.normal == {"bolts": Fraction(4), "lid": "shut"}


def test_two_different_properties_clash(tmp_path: Path) -> None:
    plan = (
        "kind a1 is item\n  has w: count, usually 1\nkind b1 is item\n  has w: count, usually 2\nkind c1 is a1 and b1\n"
    )
    assert rules_of(tmp_path, plan) == [("property-from-two-parents", 5)]


@pytest.mark.parametrize(
    ("kinds", "rule", "line"),
    [
        ("kind hoist is winch\n", "unknown-kind", 1),
        ("kind hoist is winch\nkind winch is hoist\n", "kind-in-circle", 2),
        ("kind hoist is actor and item\n", "two-sorts", 1),
        ("kind hoist is item\n  has drum: full or bare, usually empty\n", "unknown-value", 2),
        ("kind hoist is item\n  has pull: newtons\n", "unknown-unit", 2),
    ],
)
def test_a_broken_kind_is_told_once(tmp_path: Path, kinds: str, rule: str, line: int) -> None:
    """Kinds made from it, things of it, their properties and the steps with them say nothing more."""
    rest = (
        "kind big-hoist is hoist\nkind rigger is actor\nkind yard is location\nlocation row : yard\n"
        "actor ida : rigger, at row\nitem jack, jib : big-hoist\n"
        "action work HOIST: hoist\n  by rigger\n  needs HOIST in reach\n"
        "excursion one\n  crew ida\n  task lift : required\n    ida\n      work jack, says up\n    ida at row, on up\n"
    )
    assert rules_of(tmp_path, kinds + rest) == [(rule, line)]


@pytest.mark.parametrize(
    ("line", "rule"),
    [
        ("holds pockets item by pocket", "unknown-property"),
        ("holds 2 sack by hand counting hands", "unknown-property"),
        ("carries mas up to 3 kg", "unknown-property"),
        ("carries weight up to 3 m", "wrong-dimension"),
        ("ground", "clause-not-for"),
        ("admits 2", "clause-not-for"),
        ("length weight", "unknown-property"),
    ],
)
def test_lines_that_mean_nothing(tmp_path: Path, line: str, rule: str) -> None:
    plan = f"use units\nkind sack is item\n  has weight: kg, usually 2 kg\nkind rigger is actor\n  {line}\n"
    found = rules_of(tmp_path, plan)
    assert found[0] == (rule, 5)
    assert {at for _, at in found} == {5}


def test_groups(tmp_path: Path) -> None:
    plan = "kind sack is item\nkind yard is location\nlocation row : yard\nitem bag 2 to 4 : sack, on row\n"
    world = clean(tmp_path, plan)
    assert [t.name for t in world.things] == ["row", "bag-2", "bag-3", "bag-4"]
    assert {t.group for t in world.things if t.sort == "item"} == {"bag"}


def test_a_mistake_for_a_whole_group_is_told_once(tmp_path: Path) -> None:
    plan = "kind sack is item\nkind yard is location\nlocation row : yard\nitem bag 1 to 9 : sack, on rwo\n"
    (problem,) = world_of(tmp_path, plan)[1]
    assert (problem.rule, problem.facts["name"]) == ("unknown-name", "rwo")
