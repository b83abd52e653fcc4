"""The words that flow facts are told in, and the lines that a proposed wait writes."""

from __future__ import annotations

import datetime
from fractions import Fraction
from pathlib import Path

import pytest

from jackstay.diagnostics.edits import apply_edits
from jackstay.model.records import Measure
from jackstay.pipeline import Checked, check
from jackstay.rules import naming

WORDS = """\
use units
kind porter is actor
  holds 2 by hand
kind room is location
  inside
  holds any sack by rack
kind sack is item
action go to PLACE: room
  by     porter
  serves actor at PLACE along paths
  makes  actor at PLACE
action take SACK: sack from ROOM: room
  by     porter
  needs  SACK on ROOM, ROOM in reach
  makes  SACK in hand of actor, then SACK not on ROOM
action put SACK: sack on ROOM: room
  by     porter
  needs  SACK in hand of actor, ROOM in reach
  makes  SACK on ROOM, then SACK not in hand of actor
"""
SITE = """\
use words
location loft, yard : room
path loft to yard 5 m
actor finn, mia : porter, at loft
item sack1 : sack, on loft
"""


def checked(folder: Path, plan: str) -> Checked:
    (folder / "words.stay").write_text(WORDS)
    (folder / "plan.stay").write_text(SITE + plan)
    return check(folder / "plan.stay", datetime.date(2026, 1, 1))


@pytest.mark.parametrize(
    ("verb", "said"),
    [
        ("take", "takes"),
        ("fly", "flies"),
        ("stay", "stays"),
        ("finish", "finishes"),
        ("undo", "undoes"),
        ("pass", "passes"),
    ],
)
def test_a_verb_as_said_of_one(verb: str, said: str) -> None:
    assert naming.third(verb) == said


def test_a_quantity_is_told_in_the_unit_of_another() -> None:
    minute = Measure(Fraction(90 * 60), (("time", 1),), "90 min")
    assert naming.like(Fraction(45 * 60), minute) == "45 min"
    assert naming.like(Fraction(26), Measure(Fraction(26), (("length", 1),), "reel-length")) == "26"


def test_a_list_as_it_is_read_aloud() -> None:
    assert [naming.listed("abc"[:n]) for n in range(4)] == ["", "a", "a and b", "a, b and c"]


def test_history_reaches_back_into_the_excursion_before(tmp_path: Path) -> None:
    plan = """\
campaign move
  excursions early, late
excursion early
  crew finn
  task out : required
    finn at loft
      take sack1 from loft
    finn at yard
      put sack1 on yard
excursion late
  crew mia
  starts as early ends
  task out : required
    mia at loft
      take sack1 from loft
"""
    [finding] = checked(tmp_path, plan).diagnostics
    assert finding.rule == "not-where-needed"
    assert [(e.number, e.actor, e.text, e.leaves) for e in finding.events] == [
        (1, "Finn", "takes sack1 from loft", "sack1: hand of Finn"),
        (2, "Finn", "puts sack1 on yard", "sack1: yard"),
        (3, "Mia", "takes sack1 from loft", "fails: sack1 is on the yard"),
    ]
    assert finding.because == "no step after that puts sack1 on the loft"


RACE = """\
excursion move
  crew finn, mia
  task one : required
    finn at loft
      take sack1 from loft
      put sack1 on loft{last}
  task two : required
    mia at loft
      take sack1 from loft{second}
"""


@pytest.mark.parametrize(
    ("last", "second", "says", "on"),
    [
        (
            "   # back on the rack",
            "",
            "put sack1 on loft, says put-sack1   # back",
            "take sack1 from loft, on one.put-sack1",
        ),
        (", says back", "  # now", "put sack1 on loft, says back", "take sack1 from loft, on one.back  # now"),
    ],
)
def test_a_proposed_wait_is_written_where_it_belongs(
    tmp_path: Path, last: str, second: str, says: str, on: str
) -> None:
    plan = RACE.format(last=last, second=second)
    found = [one for one in checked(tmp_path, plan).diagnostics if one.rule == "may-come-first"]
    assert found
    after = apply_edits(SITE + plan, found[0].help[0].edits)
    assert says in after and on in after
    (tmp_path / "plan.stay").write_text(after)
    assert not check(tmp_path / "plan.stay", datetime.date(2026, 1, 1)).diagnostics
