"""Settings of any sort are read without a traceback, and every problem in them can be told."""

from __future__ import annotations

import datetime

from hypothesis import given, settings
from hypothesis import strategies as st

from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.policy.settings import PlanSettings, read_settings
from jackstay.rules import registry
from jackstay.source.files import source_from_text
from jackstay.source.spans import Span

GOOD = """\
[severity]
crowded = "warning"
severity = { "drafts/**" = { ends = "note" } }
[severity."north/*.stay"]
left-behind = "off"
[[allow]]
rule = "no-way"
paths = ["a.stay", 'b/**']
because = "so"
until = 2027-03-01
"""
PIECES = [
    "[",
    "]",
    "[[",
    "]]",
    '"',
    "'",
    "=",
    "{",
    "}",
    ",",
    "\n",
    ".",
    "#",
    '"""',
    "\\",
    "1",
    "true",
    "é",
    "\t",
    "until",
    "*",
    "/",
]


def edits() -> st.SearchStrategy[str]:
    places = st.lists(st.tuples(st.integers(0, len(GOOD)), st.integers(0, 6), st.sampled_from(PIECES)), max_size=4)

    def make(cuts: list[tuple[int, int, str]]) -> str:
        text = GOOD
        for at, length, piece in cuts:
            text = text[:at] + piece + text[at + length :]
        return text

    return places.map(make)


@settings(max_examples=300, deadline=None)
@given(edits() | st.text(max_size=60))
def test_nothing_is_too_odd(text: str) -> None:
    read = read_settings(source_from_text("jackstay.toml", text))
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for problem in read.problems:
        told = registry.tell(problem, None)
        assert told.message and told.at.path == "jackstay.toml"
        assert 1 <= told.at.line <= max(len(lines), 1)
        assert 0 <= told.at.start <= told.at.end <= len(lines[told.at.line - 1]) + 1
    use = PlanSettings(read, "", datetime.date(2026, 1, 1))
    found = [
        Diagnostic("hole", Severity.UNDECIDED, "So.", Span("a.stay", 1, 0, 0)),
        Diagnostic("unknown-kind", Severity.ERROR, "So.", Span("a.stay", 1, 0, 0)),
    ]
    left = use.apply(found, None)
    assert [one.rule for one in left] == ["hole", "unknown-kind"]  # what nobody may turn off is there, whatever is set
    assert left[1].severity is Severity.ERROR
