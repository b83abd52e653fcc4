"""What a finding is known by from one check to the next: its rule, the names it is about, and what it stands in.

No line number, no figure and no wording of a rule is in it. What is renamed, or moves to another task or actor, gives
another fingerprint; what is edited, moved or renamed elsewhere does not. A task that says `was` keeps its old name
here, so that a renaming is no news.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from hashlib import sha256
from typing import Protocol

from jackstay.diagnostics.records import Diagnostic
from jackstay.source.record import Record


class _Lines(Protocol):
    @property
    def lines(self) -> Sequence[str]: ...


_HEAD = re.compile(r'[^:,\["#]*')
_CONTINUES = re.compile(r"\s*(and|or|then)\b")
_WAS = re.compile(r"\bwas\s+([a-z][a-z0-9-]*)")
_WHERE = re.compile(r"\s+(at|in|with)\s")
_LONGEST = 120  # letters of a statement: a plan's are shorter, a hostile file's need not be
_TASK = re.compile(r"task\s+([a-z][a-z0-9-]*)")


class Fingerprint(Record):
    """rule: its name. inside: the statements around it, outermost first, then its own. names: what it is about."""

    rule: str
    inside: tuple[str, ...]
    names: tuple[str, ...]

    def digest(self) -> str:
        """The same as 32 hexadecimal digits."""
        text = "\n".join([self.rule, *self.inside, "", *self.names])
        return sha256(text.encode("utf-8")).hexdigest()[:32]


def fingerprint(finding: Diagnostic, sources: Mapping[str, _Lines]) -> Fingerprint:
    """sources: files by the path that the finding uses; of one that is not there, nothing around it is known."""
    file = sources.get(finding.at.path)
    lines = file.lines if file is not None else ()
    return Fingerprint(finding.rule, _inside(lines, finding.at.line), finding.names)


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip())


def _inside(lines: Sequence[str], number: int) -> tuple[str, ...]:
    if not 1 <= number <= len(lines):
        return ()
    row = number - 1
    while row > 0 and _CONTINUES.match(lines[row]):
        row -= 1
    found = [_statement(lines[row])]
    depth = _indent(lines[row])
    while row > 0 and depth > 0:
        row -= 1
        line = lines[row]
        if line.strip() and _indent(line) < depth and line.lstrip()[0] != "#" and not _CONTINUES.match(line):
            depth = _indent(line)
            found.append(_heading(line))
    return tuple(reversed(found))


def _statement(line: str) -> str:
    """A statement's own words: what it does, to what; no figures, times, bounds or quoted texts."""
    head = _HEAD.match(line)
    words = [word for word in (head[0].split() if head else ()) if not word[0].isdigit()]
    return _renamed(line) or " ".join(words)[:_LONGEST]


def _heading(line: str) -> str:
    """What something is written under: a name of its own, or who acts there."""
    words = _statement(line)
    where = _WHERE.search(words)
    return words[: where.start()] if where else words


def _renamed(line: str) -> str:
    task = _TASK.match(line.lstrip())
    was = _WAS.search(line.split("#")[0]) if task else None
    return f"task {was[1]}" if was else ""
