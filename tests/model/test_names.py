"""Names across files: aliases, no re-export, one finding for one cause."""

from __future__ import annotations

from pathlib import Path

import pytest
from worlds import CREW, clean, only_excursion, rules_of, world_of

STEP = "excursion one\n  crew {0}ida\n  task look : required\n    {0}ida at {0}mast\n"


def test_bare_names(tmp_path: Path) -> None:
    world = clean(tmp_path, "use yard\n" + STEP.format(""), yard=CREW)
    (arrival,) = only_excursion(world).entries
    assert [t.name for t in arrival.cast] == ["ida"]
    assert arrival.block.place is not None and arrival.block.place.name == "mast"


def test_alias(tmp_path: Path) -> None:
    world = clean(tmp_path, "use yard as y\n" + STEP.format("y."), yard=CREW)
    assert [t.name for t in only_excursion(world).entries[0].cast] == ["ida"]


def test_an_alias_hides_the_bare_names(tmp_path: Path) -> None:
    (problem,) = world_of(tmp_path, "use yard as y\n" + STEP.format(""), yard=CREW)[1]
    assert problem.rule == "unknown-name"
    assert [(module, alias) for module, alias, _ in problem.facts["elsewhere"]] == [("yard", "y")]


def test_nothing_is_re_exported(tmp_path: Path) -> None:
    """Three names of a file that is not used are one mistake."""
    (problem,) = world_of(tmp_path, "use mid\n" + STEP.format(""), mid="use yard\n", yard=CREW)[1]
    assert (problem.rule, problem.at.line) == ("unknown-name", 3)
    assert problem.facts["elsewhere"][0][0] == "yard"


def test_verbs_are_known_at_any_depth(tmp_path: Path) -> None:
    yard = CREW + "action check SPOT: location\n  by rigger\n"
    plan = "use yard\n" + STEP.format("") + "      check mast\n"
    clean(tmp_path, plan.replace("use yard", "use mid\nuse yard"), mid="use yard\n", yard=yard)


def test_one_name_from_two_files(tmp_path: Path) -> None:
    south = "kind spot is location\nlocation gate, mast : spot\n"
    (problem,) = world_of(tmp_path, "use yard\nuse south\n", yard=CREW, south=south)[1]
    assert (problem.rule, problem.at.line) == ("name-from-two-files", 2)
    assert problem.facts["names"] == ["gate", "mast"]


def test_no_shadowing(tmp_path: Path) -> None:
    plan = "use yard\nlocation mast : place\n"
    assert rules_of(tmp_path, plan, yard=CREW) == [("name-taken", 2)]


def test_things_and_kinds_are_two_name_spaces(tmp_path: Path) -> None:
    clean(tmp_path, "kind mast is location\nlocation mast : mast\n")


def test_a_name_that_means_nothing_is_told_once(tmp_path: Path) -> None:
    plan = CREW + "excursion one\n  crew idda, per\n  task look : required\n    idda at mast\n    idda at gate\n"
    (problem,) = world_of(tmp_path, plan)[1]
    assert problem.rule == "unknown-name"
    assert [at.line for at in problem.facts["places"]] == [9, 11, 12]


def test_excursions_may_stand_behind_the_campaign(tmp_path: Path) -> None:
    plan = CREW + "campaign year\n  excursions one\nexcursion one\n  crew ida\n"
    clean(tmp_path, plan)


@pytest.mark.parametrize("name", ["units", "suited", "arm", "cabin", "orbit", "watch"])
def test_shipped_vocabularies_are_sound_and_declare_no_things(tmp_path: Path, name: str) -> None:
    assert clean(tmp_path, f"use {name}\n").things == []
