"""Sheets that forms ask for; the one that comes along is complete against its regulation."""

from __future__ import annotations

import datetime
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest

from jackstay.flow.forms import sheets
from jackstay.outputs.build import build
from jackstay.pipeline import Checked, check

EXAMPLES = Path(__file__).parents[2] / "examples"
MILL = check(EXAMPLES / "corran-mill" / "campaign.stay", datetime.date(2026, 1, 1))

# 29 CFR 1910.146(f)(1) to (15): what an entry permit has to identify, in the regulation's order.
REGULATION = (
    "space", "purpose", "date and duration", "entrants", "attendants", "supervisor, with signature", "hazards",
    "isolation and control", "acceptable conditions", "tests, initials, times", "rescue and how to call",
    "communication", "equipment", "other information", "other permits",
)  # fmt: skip


def made(checked: Checked, name: str) -> str:
    return build(checked)[name].decode("utf-8")


def form_text(excursion: str) -> str:
    return made(MILL, f"form-entry-permit-{excursion}.txt")


def boxes(text: str) -> dict[str, str]:
    """What stands under each heading of a sheet as text, by the heading's source."""
    parts = re.split(r"^-- \d+ .*? -+ (29 CFR \S+) --$", text.split("\n====", 2)[1], flags=re.MULTILINE)
    return {source: body.strip() for source, body in zip(parts[1::2], parts[2::2], strict=True)}


def test_the_permit_has_every_item_of_the_regulation_in_its_order() -> None:
    form = MILL.world.forms["entry-permit"]
    sources = [heading.origin.text if heading.origin else "" for heading in form.headings.values()]
    assert sources == [f"29 CFR 1910.146(f)({number})" for number in range(1, len(REGULATION) + 1)]


@pytest.mark.parametrize("excursion", ["clean", "mend"])
def test_every_item_is_filled(excursion: str) -> None:
    found = boxes(form_text(excursion))
    assert len(found) == len(REGULATION)
    for body in found.values():
        assert len(body) > 4 and "NOTHING IS SAID" not in body


@pytest.mark.parametrize(
    ("item", "words"),
    [
        (1, ["Settling sump [sump]"]),
        (2, ["Float switch", "Swap"]),
        (3, ["2031-03-12, from 08:15", "at most 2 h 30 min"]),
        (4, ["Joss, entrant (lead)", "Ilse, entrant", "In at: ____", "Out at: ____"]),
        (5, ["Bram, attendant"]),
        (6, ["Pia, entry supervisor", "Signature or initials", "____"]),
        (7, ["WARNING: Sludge gives off gas", "Hydrogen sulphide and methane"]),
        (8, ["Pia: lock out mixer-breaker with lock-m", "Bram: lock out inlet-valve with lock-v", "start fan of sump"]),
        (9, ["No entry before the air is tested", "19.5 percent to 23.5 percent", "29 CFR 1910.146(b)"]),
        (10, ["Bram: test oxygen of sump", "Bram: test flammable gas", "Bram: test hydrogen sulphide"]),
        (11, ["The air of the sump is not good", "telephone 0-555-0142"]),
        (12, ["By voice and line"]),
        (13, ["Gas meter [nose]", "Padlock, inlet [lock-v]", "Line i", "harnesses"]),
        (14, ["cleaned on the day before"]),
        (15, ["no hot work"]),
    ],
)
def test_what_stands_under_each_item(item: int, words: list[str]) -> None:
    body = " ".join(boxes(form_text("mend"))[f"29 CFR 1910.146(f)({item})"].split())
    for one in words:
        assert one in body


def test_each_test_has_room_for_its_result_the_initials_and_the_time() -> None:
    body = boxes(form_text("clean"))["29 CFR 1910.146(f)(10)"]
    assert body.count("Result: ____") == body.count("Initials of the tester: ____") == body.count("Time:") == 3


class Headings(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.depth = 0
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "h3":
            self.depth += 1
            self.found.append("")

    def handle_endtag(self, tag: str) -> None:
        self.depth -= tag == "h3"

    def handle_data(self, data: str) -> None:
        if self.depth:
            self.found[-1] += data


def test_the_page_has_the_same_headings() -> None:
    parser = Headings()
    parser.feed(made(MILL, "form-entry-permit-clean.html"))
    titles = [heading.title for heading in MILL.world.forms["entry-permit"].headings.values()]
    assert [any(title in found for found in parser.found) for title in titles] == [True] * len(titles)
    assert len(parser.found) == len(titles)


def test_both_forms_of_a_sheet_carry_the_safety_words() -> None:
    for name in ("form-entry-permit-clean.txt", "form-entry-permit-clean.html"):
        text = " ".join(made(MILL, name).split())
        assert "never the only control" in text
        assert "Not an entry permit and no gas meter" in text
        assert "counts for nothing until those who have to have checked it, completed it and signed it" in text


PLAN = """
use units
kind guide is actor
kind hut is location
  inside
  has code: red or green, normally green
kind lamp is item
  has power: W, usually 3 W
kind hook is location
  holds any lamp by ring
action paint HUT: hut red
  by guide
  makes code of HUT is red from afar
  takes 5 min
action paint HUT: hut green
  by guide
  makes code of HUT is green from afar
  takes 5 min
form book
  heading painted
    lists steps that make code of HUT: hut is red
  heading lamps
    lists power of lamp
  heading called
    lists calls
  heading signed
    blank "Name", "Day"
location old-hut : hut
location nail : hook, within reach of old-hut
item torch : lamp, power 5 W, on nail
actor ida : guide, at old-hut
excursion tour
  crew ida
  fills book
    lamps "One torch."
  task paint : required
    ida
      paint old-hut red, says all-red
      paint old-hut green
"""


def test_a_form_of_a_plans_own(tmp_path: Path) -> None:
    """Steps by what they make, properties, calls and texts; what no step speaks of is not in play."""
    (tmp_path / "plan.stay").write_text(PLAN, encoding="utf-8")
    checked = check(tmp_path / "plan.stay")
    assert not checked.diagnostics and checked.flow is not None
    (sheet,) = sheets(checked.world, checked.flow.excursions[0])
    steps = [row.what.entry.text for row in sheet.rows["painted"]]
    assert steps == ["paint old-hut red"]
    assert [(row.sort, row.what) for row in sheet.rows["lamps"]] == [("said", "One torch.")]
    assert [row.what.name for row in sheet.rows["called"]] == ["all-red"]
    text = made(checked, "form-book-tour.txt")
    assert "Name: ____" in text and "Day: ____" in text and "Ida calls “all red”" in text
