"""What a vocabulary calls things stands in every output; figures that nobody has verified are named on every output."""

from __future__ import annotations

import datetime
import re
from functools import cache
from pathlib import Path

import pytest

from jackstay.outputs.build import build
from jackstay.outputs.figures import unverified
from jackstay.outputs.forecast import as_text
from jackstay.outputs.words import PLAIN, Said
from jackstay.pipeline import Checked, check
from jackstay.timing.sampling_forecast import forecast

EXAMPLES = Path(__file__).parents[2] / "examples"
FITTING = {
    "harrow-sound": ["dive", "under water", "on the surface"],
    "corran-mill": ["entry", "in the space", "out of the space"],
}


@cache
def plan(name: str) -> Checked:
    return check(EXAMPLES / name / "campaign.stay", datetime.date(2026, 1, 1))


@cache
def outputs(name: str) -> dict[str, str]:
    """All that is read by people, as text; what the plan itself says taken out."""
    made = build(plan(name))
    return {
        file: content.decode("utf-8")
        for file, content in made.items()
        if file.endswith((".txt", ".html", ".svg", ".ics")) and file != "review.html"
    }


@pytest.mark.parametrize("name", FITTING)
def test_no_output_speaks_of_another_trade(name: str) -> None:
    """``if outside`` is the outcome of a reading: there the word has its own meaning."""
    for file, text in outputs(name).items():
        text = re.sub(r"<[^>]*>", " ", text)
        text = re.sub(r"[Ii]f outside|, outside\b", "", text)
        found = re.findall(r"\b(?:excursions?|outside|hatch|suited|suits?|spacewalk|tether)\b", text, re.IGNORECASE)
        assert not found, f"{file}: {sorted(set(found))}"


@pytest.mark.parametrize("name", FITTING)
def test_the_words_of_the_vocabulary_are_there(name: str) -> None:
    word, out, home = FITTING[name]
    made = outputs(name)
    assert f"{word.capitalize()} 1 of 2: " in made["timeline.txt"]
    assert f"Goes {out} on " in made["pack.txt"] and f"Used {home}, stays {home}" in made["pack.txt"]
    assert f"Items {out}" in made["end.txt"]
    assert f"what somebody {out} takes to be {home}" in " ".join(made["way-home.txt"].split())


@pytest.mark.parametrize("name", FITTING)
def test_a_forecast_speaks_the_words_of_the_vocabulary(name: str) -> None:
    checked = plan(name)
    assert checked.flow is not None
    flow = checked.flow.excursions[0]
    text = as_text(checked, [(flow, forecast(checked.world, flow, 50, 1))], 50, 1)
    word, out, _ = FITTING[name]
    assert f"Crew {out}: when each is through" in text and f"{word.capitalize()} 1 of 1: " in text
    assert not re.findall(r"\b(?:excursions?|outside)\b", text, re.IGNORECASE)


def test_a_value_is_told_in_the_unit_of_its_property() -> None:
    made = outputs("harrow-sound")
    assert "deepest of Runa: 0 m -> 18 m" in made["end.txt"]
    for file, text in made.items():
        assert "base unit" not in text, file


def test_a_line_that_lies_inside_may_have_an_end_that_does_not() -> None:
    words = " ".join(outputs("harrow-sound")["pack.txt"].split())
    assert (
        "Line r - from Cutter Sandpiper [cutter] to Cutter Sandpiper [cutter]; an end of it goes under water" in words
    )


def test_several_of_them() -> None:
    assert Said("entry", "in", "out").excursions == "entries"
    assert Said("dive", "in", "out").excursions == "dives"
    assert Said("day", "in", "out").excursions == "days"
    assert Said("pass", "in", "out").excursions == "passes"


def test_own_texts_are_put_in_other_words() -> None:
    said = Said("dive", "aboard", "overboard")
    assert said.put("An excursion: inside, not outside. Excursions? no, excursions.") == (
        "A dive: aboard, not overboard. Excursions? no, dives."
    )
    assert PLAIN.put("an excursion") == "an excursion"


@pytest.mark.parametrize("name", ["tarn-depot", *FITTING])
def test_every_output_names_the_unverified_figures(name: str) -> None:
    flow = plan(name).flow
    assert flow is not None
    figures = [origin.what for origin in unverified(plan(name).world, flow.excursions)]
    assert figures
    for file, text in outputs(name).items():
        if file.endswith(".ics"):
            continue  # a calendar's lines are folded anywhere
        words = " ".join(re.sub(r"<[^>]*>", " ", text).split())
        assert "UNVERIFIED figures that this plan rests on" in words, file


def test_the_review_page_names_them_at_its_head() -> None:
    page = build(plan("harrow-sound"))["review.html"].decode("utf-8")
    assert '"figures":"UNVERIFIED figures that this plan rests on' in page
    assert '"said":["dive","dives","on the surface","under water"]' in page


def test_a_table_names_its_revision_where_it_is_used() -> None:
    foot = " ".join(outputs("harrow-sound")["timeline.txt"].split())
    assert "table no-stop (US Navy Diving Manual, Revision 7 (2016), Table 9-7)" in foot


WORDS = """
use units
let brisk = 2 m/s, unverified "guessed"
let sure = 2 m/s, source "a book"
let unused = 2 m/s, unverified
kind walker is actor
  has pace: m/s, usually 1 m/s, unverified "from memory"
  carries mass up to 3 kg, source "a scale"
kind sack is item
  has mass: kg, usually 1 kg
kind spot is location
  inside
action go to PLACE: spot
  by walker
  serves actor at PLACE along paths
  makes actor at PLACE
  takes route / pace of actor
action run to PLACE: spot
  by walker
  makes actor at PLACE
  takes 4 m / brisk
"""

PLAN = """
use units
use words
location here-spot, there-spot : spot
path here-spot to there-spot 4 m
actor ida : walker, at here-spot{pace}
excursion tour
  crew ida
  task walk : required
    ida{what}
"""


@pytest.mark.parametrize(
    ("pace", "what", "wanted"),
    [
        ("", " at there-spot", ["pace of walker"]),
        (", pace 2 m/s", " at there-spot", []),
        ("", "\n      run to there-spot", ["brisk"]),
        ("", "\n      run to there-spot [5 s]", []),
    ],
)
def test_a_figure_counts_where_it_is_used(tmp_path: Path, pace: str, what: str, wanted: list[str]) -> None:
    """The usual value of a property only where a thing does not say, a duration only where no bracket does."""
    (tmp_path / "words.stay").write_text(WORDS, encoding="utf-8")
    (tmp_path / "plan.stay").write_text(PLAN.format(pace=pace, what=what), encoding="utf-8")
    checked = check(tmp_path / "plan.stay")
    assert not checked.diagnostics and checked.flow is not None
    assert [origin.what for origin in unverified(checked.world, checked.flow.excursions)] == wanted


def test_a_value_that_the_plan_itself_names_counts(tmp_path: Path) -> None:
    (tmp_path / "words.stay").write_text(WORDS, encoding="utf-8")
    text = PLAN.format(pace=", pace brisk", what=" at there-spot")
    (tmp_path / "plan.stay").write_text(text, encoding="utf-8")
    checked = check(tmp_path / "plan.stay")
    assert not checked.diagnostics and checked.flow is not None
    assert [origin.what for origin in unverified(checked.world, checked.flow.excursions)] == ["brisk"]
