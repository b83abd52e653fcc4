"""A line each, JSON, the closing line, pages, and what a stream can print."""

from __future__ import annotations

import json

import jsonschema
import pytest
from pydantic import TypeAdapter

from jackstay.diagnostics.aside import PLAN, Aside, How
from jackstay.diagnostics.records import Diagnostic, Edit, Event, Fix, Label, Severity
from jackstay.report import json as as_json
from jackstay.report import line, page, shape
from jackstay.report.cells import cells, printable, shorten, wrap
from jackstay.report.paint import wanted
from jackstay.report.summary import left_out, summary
from jackstay.source.spans import Span

AT = Span("second.stay", 4, 10, 18)
FULL = Diagnostic(
    "held-elsewhere",
    Severity.ERROR,
    "Wren has not got\nold-pump.",
    AT,
    "here",
    (Label(AT, "and here"),),
    (Event(1, "Teal", "takes it", "old-pump: Teal", AT),),
    "nobody hands it over",
    (Fix("hand it over", (Edit(AT, "x"),)), Fix("or not")),
)


def plain(severity: Severity) -> Diagnostic:
    return Diagnostic("a-rule", severity, "Something.", AT)


def test_a_line_each() -> None:
    told = line.render([FULL, plain(Severity.NOTE)])
    assert told == (
        "second.stay:4:11: error: held-elsewhere: Wren has not got old-pump.\n"
        "second.stay:4:11: note: a-rule: Something.\n"
    )


def test_json_fits_its_schema_and_loses_nothing() -> None:
    findings = [FULL, *map(plain, Severity)]
    text = as_json.render(findings, files=3, undecided=2)
    read = json.loads(text)
    jsonschema.Draft202012Validator.check_schema(as_json.schema())
    jsonschema.validate(read, as_json.schema())
    assert TypeAdapter(shape.Findings).validate_json(text) == as_json.document(findings, 3, 2)
    assert read["schema"] == as_json.SCHEMA
    assert read["counts"] == {
        "errors": 2,
        "warnings": 1,
        "undecided": 2,
        "notes": 1,
        "left_out": 0,
        "allowed": 0,
        "turned_off": 0,
        "lowered": 0,
        "known": 0,
        "older": 0,
        "files": 3,
        "clean": False,
    }
    first = read["findings"][0]
    assert first["at"] == {"path": "second.stay", "line": 4, "column": 11, "end_column": 19}
    assert first["events"][0]["leaves"] == "old-pump: Teal"
    assert first["help"][0]["edits"][0]["text"] == "x"
    assert len(first["fingerprint"]) == 32


def aside(severity: Severity, how: How = How.ALLOWED, by: str = PLAN, now: Severity | None = None) -> Aside:
    reason = "agreed" if how is How.ALLOWED else ""
    return Aside(plain(severity), how, by, reason, Span("second.stay", 2, 4, 9), "2027-03-01" if reason else "", now)


def test_what_is_set_aside_is_in_the_document_and_not_clean() -> None:
    assert json.loads(as_json.render([], files=1))["counts"]["clean"] is True
    several = [aside(Severity.ERROR), aside(Severity.WARNING, How.LOWERED, "jackstay.toml", Severity.NOTE)]
    read = json.loads(as_json.render([plain(Severity.NOTE)], files=1, aside=several))
    jsonschema.validate(read, as_json.schema())
    counts = read["counts"]
    assert (counts["clean"], counts["left_out"], counts["allowed"], counts["lowered"]) == (False, 1, 1, 1)
    first, second = read["set_aside"]
    assert (first["severity"], first["how"], first["by"]) == ("error", "allowed", "the plan")
    assert (first["reason"], first["until"], first["decided_at"]["line"]) == ("agreed", "2027-03-01", 2)
    assert (second["how"], second["severity"], second["now"]) == ("lowered", "warning", "note")


@pytest.mark.parametrize(
    "findings, undecided, several, said",
    [
        ("", 0, [aside(Severity.ERROR)], "no findings left: 3 files; 1 error allowed (with its reason)"),
        ("n", 0, [aside(Severity.ERROR)], "no findings left: 3 files, 1 note; 1 error allowed (with its reason)"),
        ("n", 0, [aside(Severity.ERROR, How.LOWERED)], "no findings left: 3 files, 1 note; 1 error lowered"),
        ("w", 0, [aside(Severity.ERROR, How.LOWERED)], "1 finding: 1 warning in 3 files; 1 error lowered"),
        (
            "",
            1,
            [aside(Severity.ERROR, How.OFF)],
            "no finding left; 1 point not decided in 3 files; 1 error turned off",
        ),
        ("", 0, [aside(Severity.ERROR, How.KNOWN)], "nothing new found in 3 files; 1 error known"),
        ("n", 0, [aside(Severity.ERROR, How.OLDER)], "nothing new found in 3 files, 1 note; 1 error older"),
    ],
)
def test_the_closing_line_tells_what_is_set_aside(
    findings: str, undecided: int, several: list[Aside], said: str
) -> None:
    by_letter = {severity.value[0]: severity for severity in Severity}
    assert summary([plain(by_letter[letter]) for letter in findings], 3, undecided, several) == said
    assert "clean" not in said


def test_the_lines_below_it() -> None:
    found = [Severity.ERROR, Severity.WARNING, Severity.UNDECIDED]
    (known,) = left_out([aside(severity, How.OLDER, "HEAD") for severity in found])
    assert known.startswith("left out: 3 findings that HEAD has too (1 error, 1 warning, 1 point not decided); what")
    assert "may not have been judged" in known
    assert "judged" not in left_out([aside(Severity.WARNING, How.KNOWN, "known.json")])[0]
    assert left_out([aside(Severity.ERROR), aside(Severity.ERROR, How.LOWERED, "jackstay.toml", Severity.NOTE)]) == [
        "left out: 1 finding that the plan allows (1 error)",
        f'  error a-rule ({AT.path} {AT.line}), allowed in the plan until 2027-03-01: "agreed"',
        "made less: 1 finding by jackstay.toml (1 error)",
        f"  error a-rule ({AT.path} {AT.line}), made a note by jackstay.toml",
    ]


def test_the_schema_refuses_what_is_not_a_finding() -> None:
    read = json.loads(as_json.render([FULL], files=1))
    for break_it in (
        lambda: read.update(schema="jackstay.findings/2"),
        lambda: read["findings"][0].update(severity="fatal"),
        lambda: read["findings"][0].pop("message"),
    ):
        whole = json.loads(json.dumps(read))
        break_it()
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(read, as_json.schema())
        read.clear()
        read.update(whole)


@pytest.mark.parametrize(
    "severities, files, undecided, said",
    [
        ("", 1, 0, "clean: 1 file, nothing found, nothing left undecided"),
        ("n", 2, 0, "clean: 2 files, 1 note"),
        ("eew", 5, 0, "3 findings: 2 errors, 1 warning in 5 files"),
        ("w", 1, 0, "1 finding: 1 warning in 1 file"),
        ("", 2, 4, "no finding; 4 points not decided in 2 files"),
        ("u", 2, 0, "no finding; 1 point not decided in 2 files"),
        ("eu", 2, 0, "1 finding: 1 error, 1 point not decided in 2 files"),
    ],
)
def test_the_closing_line(severities: str, files: int, undecided: int, said: str) -> None:
    by_letter = {severity.value[0]: severity for severity in Severity}
    assert summary([plain(by_letter[letter]) for letter in severities], files, undecided) == said


def test_text_is_measured_in_cells() -> None:
    assert (cells("ab"), cells("月面"), cells("e\u0301")) == (2, 4, 1)
    assert wrap("one two  three", 7) == ["one two", "three"]
    assert wrap("月面作業", 4) == ["月面", "作業"]
    assert wrap("unbreakable", 4) == ["unbr", "eaka", "ble"]
    assert cells(shorten("a-long/way/down/plan.stay", 12)) == 12
    assert shorten("short", 12) == "short"


def test_what_a_stream_cannot_carry_is_replaced() -> None:
    assert printable("2 │ a → b …", "ascii") == "2 | a -> b ..."
    assert printable("é → 月", "latin-1") == "é -> ?"
    assert printable("a → b", "utf-8") == "a → b"
    assert printable("a → b", None) == "a -> b"


@pytest.mark.parametrize(
    "terminal, no_color, force_color, painted",
    [
        (True, None, None, True),
        (False, None, None, False),
        (True, "1", None, False),
        (True, "", None, True),
        (False, None, "1", True),
        (False, "1", "1", False),
        (True, None, "0", False),
    ],
)
def test_colour_is_as_the_user_wants_it(
    terminal: bool, no_color: str | None, force_color: str | None, painted: bool
) -> None:
    assert wanted(terminal, no_color, force_color) is painted


PAGE = """\
# a-rule

A sentence that is longer than the width of this terminal.

## Fails

```stay file=a.stay
item crate : bag, on porch   # finds: a-rule "porch"
# finds: a-rule
```

- one point that goes on and on and on
- another
"""


def test_a_page_in_a_terminal() -> None:
    assert page.render(PAGE, width=32) == (
        "a-rule\n"
        "\n"
        "A sentence that is longer than\n"
        "the width of this terminal.\n"
        "\n"
        "Fails\n"
        "\n"
        "    # a.stay\n"
        "  > item crate : bag, on porch\n"
        "\n"
        "- one point that goes on and\n"
        "  on and on\n"
        "- another\n"
    )
