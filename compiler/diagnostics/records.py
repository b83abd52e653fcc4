"""Findings as data. A `Problem` is what a stage noticed; a rule turns it into a `Diagnostic`, a story for a person.

Stages report problems with a rule's name and the bare facts; no prose. Rules own the prose.
"""

from __future__ import annotations

from enum import Enum
from typing import Any

from jackstay.source.record import Record
from jackstay.source.spans import Span


class Severity(str, Enum):
    """error: the plan does not or may not hold. warning: it holds, look again. undecided: the analysis cannot tell.
    note: said in passing. Only errors fail a check; ``--strict`` lets warnings and undecided fail it too."""

    ERROR = "error"
    WARNING = "warning"
    UNDECIDED = "undecided"
    NOTE = "note"


class Problem(Record):
    """rule: a rule's name. at: the smallest useful place. facts: whatever the rule's page promises, by name."""

    rule: str
    at: Span
    facts: dict[str, Any]


class Label(Record):
    """A second place that contributes, with what it says."""

    at: Span
    text: str


class Event(Record):
    """One numbered step of a story: who acts, what happens, the state it leaves (``bag: Wren``). actors: each by name,
    where several act together."""

    number: int
    actor: str
    text: str
    leaves: str
    at: Span
    actors: tuple[str, ...] = ()


class Edit(Record):
    """Replace a stretch of one line (start == end inserts) by text; text ending in a line break with start == end == 0
    inserts whole lines before that line."""

    at: Span
    text: str


class Fix(Record):
    """A proposed repair; its edits have been shown to clear the finding (tests re-check every one)."""

    text: str
    edits: tuple[Edit, ...] = ()


class Diagnostic(Record):
    """One finding. message: one sentence about the plan. because: the missing fact. help: what to do, if known.
    names: what it is about, by name; with the rule and the text around its place it is the same finding after an edit
    elsewhere."""

    rule: str
    severity: Severity
    message: str
    at: Span
    note: str = ""  # short text at the place itself
    labels: tuple[Label, ...] = ()
    events: tuple[Event, ...] = ()
    because: str = ""
    help: tuple[Fix, ...] = ()
    names: tuple[str, ...] = ()

    def order(self) -> tuple[str, int, int, str, str]:
        """Total order of findings: path, line, column, rule, message."""
        return (self.at.path, self.at.line, self.at.start, self.rule, self.message)
