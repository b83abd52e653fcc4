"""Findings as stories."""

from __future__ import annotations

import re
from dataclasses import dataclass

from hypothesis import given, settings
from hypothesis import strategies as some

from jackstay.diagnostics.records import Diagnostic, Edit, Event, Fix, Label, Severity
from jackstay.report.cells import cells
from jackstay.report.text import NARROWEST, render, story
from jackstay.source.spans import Span


@dataclass
class Source:
    lines: list[str]


DEPOT = Source(["use suited", "", "item old-pump : unit, on pump-seat"])
SECOND = Source(
    [
        "    teal at pump-face",
        "      free old-pump from pump-seat",
        "    wren at pump-face",
        "      set old-pump on pump-side",
    ]
)
SOURCES = {"depot.stay": DEPOT, "second.stay": SECOND}
FINDING = Diagnostic(
    "held-elsewhere",
    Severity.ERROR,
    "Wren sets old-pump on pump-side, but Teal has it in hand.",
    Span("second.stay", 4, 10, 18),
    note="Teal holds it here",
    labels=(
        Label(Span("second.stay", 2, 6, 10), "Teal takes it"),
        Label(Span("depot.stay", 3, 5, 13), "declared here"),
    ),
    events=(
        Event(1, "Teal", "frees old-pump from pump-seat", "old-pump: hand of Teal", Span("second.stay", 2, 6, 10)),
        Event(2, "Wren", "sets old-pump on pump-side", "", Span("second.stay", 4, 6, 9)),
    ),
    because="no step hands old-pump from Teal to Wren",
    help=(Fix("hand it over first", (Edit(Span("second.stay", 3, 0, 0), "      hand old-pump to wren\n"),)),),
)
STORY = """\
error  held-elsewhere                                           second.stay 4:11
Wren sets old-pump on pump-side, but Teal has it in hand.

  2 │       free old-pump from pump-seat
    │       ---- Teal takes it
    …
  4 │       set old-pump on pump-side
    │           ^^^^^^^^ Teal holds it here

  depot.stay
  3 │ item old-pump : unit, on pump-seat
    │      -------- declared here

  how it comes to this
    1  Teal  frees old-pump from pump-seat (2)
             → old-pump: hand of Teal
    2  Wren  sets old-pump on pump-side (4)

  because  no step hands old-pump from Teal to Wren
  help     hand it over first
           3 +       hand old-pump to wren
"""


def test_the_whole_story() -> None:
    assert story(FINDING, SOURCES) == STORY


def test_colour_only_decorates() -> None:
    painted = story(FINDING, SOURCES, color=True)
    assert painted != STORY
    assert re.sub(r"\x1b\[[0-9;]*m", "", painted) == STORY


def test_findings_are_set_apart_by_a_blank_line() -> None:
    assert render([FINDING, FINDING], SOURCES) == STORY + "\n" + STORY


def test_undecided_is_not_called_an_error() -> None:
    finding = Diagnostic("too-many-branches", Severity.UNDECIDED, "Not followed.", Span("second.stay", 1, 4, 8))
    assert story(finding, SOURCES).startswith("not decided  too-many-branches")


def test_a_place_without_text_still_has_its_story() -> None:
    finding = Diagnostic("gone", Severity.ERROR, "It is gone.", Span("other.stay", 7, 0, 3), note="here")
    assert "other.stay 7: here" in story(finding, SOURCES)


def test_a_changed_line_is_shown_as_it_will_read() -> None:
    fix = Fix("say left", (Edit(Span("second.stay", 4, 22, 31), "pump-left"),))
    told = story(Diagnostic("r", Severity.ERROR, "m.", Span("second.stay", 4, 6, 9), help=(fix,)), SOURCES)
    assert "4 =       set old-pump on pump-left" in told


def test_control_and_direction_marks_do_not_reach_the_terminal() -> None:
    sources = {"a.stay": Source(["x\x1b[31m\u202ey\ttab"])}
    finding = Diagnostic("r", Severity.ERROR, "odd \x1b]0;name\x07.", Span("a.stay", 1, 0, 1), note="\x9b")
    told = story(finding, sources)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", told)


WORDS = some.text(some.characters(exclude_categories=["Cs"]), max_size=150)
PLACES = some.builds(
    lambda path, line, start, size: Span(path, line, start, start + size),
    some.sampled_from(["a.stay", "a-very/long/way/down/into/a/folder/of/modules.stay"]),
    some.integers(1, 5),
    some.integers(0, 160),
    some.integers(0, 40),
)
FINDINGS = some.builds(
    Diagnostic,
    some.sampled_from(["r", "a-rule-with-a-remarkably-long-name-for-a-rule"]),
    some.sampled_from(list(Severity)),
    WORDS,
    PLACES,
    note=WORDS,
    labels=some.lists(some.builds(Label, PLACES, WORDS), max_size=3).map(tuple),
    events=some.lists(some.builds(Event, some.integers(1, 999), WORDS, WORDS, WORDS, PLACES), max_size=3).map(tuple),
    because=WORDS,
    help=some.lists(
        some.builds(Fix, WORDS, some.lists(some.builds(Edit, PLACES, WORDS), max_size=2).map(tuple)), max_size=2
    ).map(tuple),
)


@settings(max_examples=60, deadline=None)
@given(FINDINGS, some.lists(WORDS, min_size=1, max_size=5), some.integers(NARROWEST, 120))
def test_nothing_is_wider_than_the_terminal(finding: Diagnostic, lines: list[str], width: int) -> None:
    sources = {path: Source(lines) for path in ("a.stay", "a-very/long/way/down/into/a/folder/of/modules.stay")}
    told = story(finding, sources, width)
    assert [line for line in told.split("\n") if cells(line) > width] == []
    painted = story(finding, sources, width, color=True)
    assert _trimmed(re.sub(r"\x1b\[[0-9;]*m", "", painted)) == _trimmed(told)


def _trimmed(text: str) -> list[str]:
    return [line.rstrip() for line in text.split("\n")]
