"""The findings of a check in the form that was asked for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.terminal import Terminal

if TYPE_CHECKING:
    from jackstay.commands.checking import Outcome

FORMATS = ("text", "line", "json", "sarif", "github", "junit")


def closing(outcome: Outcome) -> list[str]:
    """The closing line, and one on each sort of finding that is not told."""
    from jackstay.report.summary import summary

    return [summary(outcome.findings, outcome.files, outcome.undecided, outcome.aside), *_left_out(outcome)]


def _left_out(outcome: Outcome) -> list[str]:
    from jackstay.report.summary import left_out

    return left_out(outcome.aside)


def tell_findings(outcome: Outcome, terminal: Terminal) -> None:
    """The findings as stories, and the closing lines."""
    from jackstay.report.cells import shown, wrap
    from jackstay.report.text import render

    if outcome.findings:
        terminal.say(render(outcome.findings, outcome.sources, terminal.width, terminal.color) + "\n")
    for line in closing(outcome):
        indent = " " * (len(line) - len(line.lstrip()))
        rows = wrap(shown(line), terminal.width - len(indent))
        terminal.say("".join(f"{indent}{row}\n" for row in rows))


def tell(outcome: Outcome, form: str, terminal: Terminal, root: Path, failed: bool, strict: bool) -> None:
    """form: one of `FORMATS`. root: what paths are relative to for other programs. failed: what the exit code
    will say."""
    if form == "text":
        tell_findings(outcome, terminal)
    elif form == "json":
        from jackstay.report import json

        terminal.say(json.render(outcome.findings, outcome.files, outcome.undecided, outcome.sources, outcome.aside))
    elif form == "line":
        from jackstay.report import line

        terminal.say(line.render(outcome.findings))
        _aside(outcome, terminal)
    elif form == "sarif":
        from importlib.metadata import version

        from jackstay.report import sarif

        seen, left = outcome.seen_from(root), "\n".join(_left_out(outcome))
        terminal.say(sarif.render(seen.findings, seen.sources, version("jackstay"), int(failed), left, seen.aside))
    elif form == "github":
        from jackstay.report import github
        from jackstay.report.cells import shown

        terminal.say(github.render(outcome.seen_from(root).findings))
        terminal.say("".join(shown(line) + "\n" for line in closing(outcome)))
    else:
        from jackstay.report import junit

        seen = outcome.seen_from(root)
        terminal.say(junit.render(seen.findings, seen.sources, strict, seen.aside))
        _aside(outcome, terminal)


def _aside(outcome: Outcome, terminal: Terminal) -> None:
    """What is left out, on the other stream: the form has no place for it."""
    for line in _left_out(outcome):
        terminal.complain(line)
