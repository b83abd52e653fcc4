"""The baseline file: findings that a project knows of and does not want to be told again.

    {"schema": "jackstay.baseline/1", "findings": [
    {"rule": "left-behind", "severity": "error", "path": "second.stay", "inside": ["excursion second"], …, "count": 1},
    ]}

JSON with an entry a line, so that a review shows what was added to it and what could be taken out.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from typing import Any

from jackstay.diagnostics.fingerprints import Fingerprint
from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.policy.known import Known
from jackstay.rules import registry
from jackstay.source.spans import Span

SCHEMA = "jackstay.baseline/1"


class BadBaseline(Exception):
    """The text is no baseline; the message says why, as the rest of "it …"."""


def text_of(known: Iterable[Known]) -> str:
    """ASCII only, ending in a line break."""
    rows = [
        json.dumps(
            {
                "rule": one.print.rule,
                "severity": one.severity.value,
                "path": one.path,
                "inside": list(one.print.inside),
                "names": list(one.print.names),
                "count": one.count,
            }
        )
        for one in known
    ]
    return f'{{"schema": "{SCHEMA}", "findings": [\n' + ",\n".join(rows) + ("\n" if rows else "") + "]}\n"


def known_in(text: str) -> list[Known]:
    """Raises BadBaseline."""
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadBaseline(f"is no JSON: {error}") from None
    if not isinstance(data, dict) or data.get("schema") != SCHEMA:
        raise BadBaseline(f"is none that this Jackstay reads: it has to begin with the schema {SCHEMA}")
    entries = data.get("findings")
    if not isinstance(entries, list):
        raise BadBaseline("has no list of findings")
    lines = _lines(text, len(entries))
    return [_known(entry, number, line) for number, (entry, line) in enumerate(zip(entries, lines, strict=True), 1)]


def _lines(text: str, entries: int) -> list[int]:
    """The line of each entry, where every entry has a line of its own; otherwise the first."""
    rows = [number for number, line in enumerate(text.split("\n"), 1) if line.lstrip().startswith('{"rule"')]
    return rows if len(rows) == entries else [1] * entries


def _known(entry: Any, number: int, line: int) -> Known:
    def texts(value: Any) -> tuple[str, ...]:
        if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
            raise BadBaseline(f"has an entry (number {number}) that is none")
        return tuple(value)

    if not isinstance(entry, dict):
        raise BadBaseline(f"has an entry (number {number}) that is none")
    rule, path, count = entry.get("rule"), entry.get("path"), entry.get("count", 1)
    if not isinstance(rule, str) or not isinstance(path, str) or type(count) is not int or count < 1:
        raise BadBaseline(f"has an entry (number {number}) without its rule, path or count")
    try:
        severity = Severity(entry.get("severity", "error"))
    except ValueError:
        raise BadBaseline(f"has an entry (number {number}) with a severity that there is not") from None
    key = Fingerprint(rule, texts(entry.get("inside")), texts(entry.get("names")))
    return Known(path, key, severity, count, line)


def outdated(gone: Sequence[Known], file: str, read: Iterable[str], whole: bool) -> list[Diagnostic]:
    """What the baseline knows and nobody finds any more, of the files that were read (whole: of every file). file: the
    baseline, as it is shown."""
    paths = set(read)
    return [
        registry.tell(
            Problem(
                "outdated-baseline",
                Span(file, one.line, 0, 0),
                {"rule": one.print.rule, "path": one.path, "left": one.left, "was": one.count},
            ),
            None,
        )
        for one in gone
        if whole or one.path in paths
    ]
