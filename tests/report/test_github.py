"""Workflow annotations: one command a line, nothing of a plan's text read as another."""

from __future__ import annotations

import re

from report import made

from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.report import github
from jackstay.source.spans import Span

_COMMAND = re.compile(r"::(error|warning|notice) ([^:\n]*)::([^\n]*)\Z")


def read(line: str) -> tuple[str, dict[str, str], str]:
    """A command as a runner reads it."""
    found = _COMMAND.match(line)
    assert found, line

    def plain(text: str) -> str:
        for code, letter in (("%0D", "\r"), ("%0A", "\n"), ("%3A", ":"), ("%2C", ","), ("%25", "%")):
            text = text.replace(code, letter)
        return text

    properties = dict(part.split("=", 1) for part in found[2].split(","))
    return found[1], {name: plain(value) for name, value in properties.items()}, plain(found[3])


def test_a_command_a_finding() -> None:
    told = [read(line) for line in github.render(made.FINDINGS).splitlines()]
    assert [command for command, _, _ in told] == [
        "error",
        "error",
        "warning",
        "warning",
        "warning",
        "notice",
        "warning",
    ]
    _, where, text = told[1]
    assert where == {
        "file": made.PATH,
        "line": "6",
        "endLine": "6",
        "col": "7",
        "endColumn": "24",
        "title": "may-come-first",
    }
    assert text.splitlines() == [
        "Nothing says, 100 %: who is first.",
        "line 5: may come first",
        "stdlib:units line 1: as declared",
        "because nobody waits",
        "help: wait for the call",
        "or: or say more",
    ]


def test_what_is_not_decided_says_so() -> None:
    titles = [read(line)[1]["title"] for line in github.render(made.FINDINGS).splitlines()]
    assert titles[3] == "not decided: hole" and titles[6] == "not-decided"


def test_a_place_that_is_no_file_of_the_repository_is_told_in_words() -> None:
    told = [read(line) for line in github.render(made.FINDINGS).splitlines()]
    assert "file" not in told[5][1] and told[5][2].startswith("stdlib:units line 1: ")
    assert "file" not in told[6][1]


def test_no_text_gets_out_of_its_command() -> None:
    odd = Diagnostic("hole", Severity.NOTE, "a\n::error::b %0A\x1b[31m", Span("a,b:c%\n.stay", 1, 0, 1), names=())
    text = github.annotation(odd)
    assert "\n" not in text and "\x1b" not in text
    command, where, message = read(text)
    assert (command, where["file"]) == ("notice", "a,b:c%\n.stay")
    assert message.startswith("a ::error::b %0A")
