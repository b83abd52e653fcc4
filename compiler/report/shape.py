"""What `--format json` writes, as records: the published shape ``jackstay.findings/1``.

Within version 1 fields are only added. Lines and columns count from 1, columns in code points; ``end_column`` is the
column after the last one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Word = Literal["error", "warning", "undecided", "note"]


@dataclass(frozen=True, slots=True)
class Place:
    """A stretch of one line. ``path`` is relative to the campaign's folder, or ``stdlib:NAME``."""

    path: str
    line: int
    column: int
    end_column: int


@dataclass(frozen=True, slots=True)
class Second:
    """A second place that contributes, and what it says."""

    at: Place
    text: str


@dataclass(frozen=True, slots=True)
class Happening:
    """One numbered event: who acts, what happens, the state it leaves."""

    number: int
    actor: str
    text: str
    leaves: str
    at: Place


@dataclass(frozen=True, slots=True)
class Change:
    """Replace the place by the text; where the place is empty at column 1 and the text ends in a line break, insert
    whole lines before that line."""

    at: Place
    text: str


@dataclass(frozen=True, slots=True)
class Repair:
    """A proposed repair in words, and as edits where there are any."""

    text: str
    edits: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding; empty text where a part has nothing to say."""

    rule: str
    severity: Word
    message: str
    at: Place
    note: str
    labels: tuple[Second, ...]
    events: tuple[Happening, ...]
    because: str
    help: tuple[Repair, ...]
    fingerprint: str  # the same for the same finding after an edit elsewhere; not unique: a plan may say a thing twice


@dataclass(frozen=True, slots=True)
class SetAside:
    """A finding that is not told as it was found. severity: as found. how: ``lowered``: it is among the findings too,
    as ``now``; ``known``, ``older``: a baseline, or an earlier revision, has it too. by: ``the plan``, or the file or
    the revision. at: of the finding. decided_at: of the decision; an empty path where it has no one place. until: the
    last day on which it counts; empty: for good."""

    rule: str
    severity: Word
    message: str
    at: Place
    how: Literal["allowed", "turned_off", "lowered", "known", "older"]
    by: str
    reason: str
    until: str
    now: str
    decided_at: Place
    fingerprint: str


@dataclass(frozen=True, slots=True)
class Counts:
    """``clean`` is true only where nothing but notes was found, nothing was left undecided and nothing was set aside.
    left_out: findings that are not listed: those allowed, those that the project's settings turn off, and those that
    are old where only what is new was asked for. lowered: listed as less grave than their rule has it."""

    errors: int
    warnings: int
    undecided: int
    notes: int
    left_out: int
    allowed: int
    turned_off: int
    lowered: int
    known: int
    older: int
    files: int
    clean: bool


@dataclass(frozen=True, slots=True)
class Findings:
    """The whole answer of one check; findings in the order of path, line, column, rule. set_aside: what is not told
    as it was found, and why."""

    schema: Literal["jackstay.findings/1"]
    counts: Counts
    findings: tuple[Finding, ...]
    set_aside: tuple[SetAside, ...]
