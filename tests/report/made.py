"""Findings made by hand, and the text they stand in, for the forms that other programs read."""

from __future__ import annotations

from jackstay.diagnostics.records import Diagnostic, Edit, Event, Fix, Label, Severity
from jackstay.source.files import SourceFile, source_from_text
from jackstay.source.spans import Span

PATH = "pläne/zweiter plan.stay"
TEXT = """\
use units
excursion second
  task swap : required
    wren at deck  # 月面
      free pump from seat, says loose
      hand pump to teal
"""
SOURCES: dict[str, SourceFile] = {
    PATH: source_from_text(PATH, TEXT),
    "quiet.stay": source_from_text("quiet.stay", "use units\n"),
    "stdlib:units": source_from_text("stdlib:units", "dimension mass\n"),
}


def at(line: int, start: int, end: int, path: str = PATH) -> Span:
    return Span(path, line, start, end)


FULL = Diagnostic(
    "may-come-first",
    Severity.ERROR,
    "Nothing says, 100 %: who\nis first.",
    at(6, 6, 23),
    "here",
    (Label(at(5, 6, 25), "may come first"), Label(Span("stdlib:units", 1, 0, 9), "as declared")),
    (
        Event(1, "Wren and Teal", "free pump", "pump: hand of Wren", at(5, 6, 25), ("Wren", "Teal")),
        Event(2, "Heron", "holds off", "", Span("", 0, 0, 0)),
        Event(3, "Wren", "hands pump", "begins", at(6, 6, 23), ("Wren",)),
    ),
    "nobody waits",
    (
        Fix("wait for the call", (Edit(at(6, 23, 23), ", on loose"), Edit(at(7, 0, 0), "    teal at deck\n"))),
        Fix("or say more"),
    ),
    ("wren hand pump", "teal"),
)
ODD = Diagnostic("unreadable-file", Severity.ERROR, "It is \x1b[31mmissing\u202e.", Span("gone.stay", 1, 0, 0))
NOWHERE = Diagnostic("not-decided", Severity.UNDECIDED, "Nobody knows.", Span("", 0, 0, 0))
FINDINGS = [
    ODD,
    FULL,
    Diagnostic("reading-unanswered", Severity.WARNING, "What if?", at(5, 6, 10)),
    Diagnostic("hole", Severity.UNDECIDED, "Not yet written.", at(3, 7, 11)),
    Diagnostic("hole", Severity.UNDECIDED, "Not yet written.", at(3, 7, 11)),
    Diagnostic("left-behind", Severity.NOTE, "In passing.", Span("stdlib:units", 1, 0, 4)),
    NOWHERE,
]
