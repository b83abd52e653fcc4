"""Findings for programs. The shape is `jackstay.report.shape`; the schema is made from those records."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import fields
from typing import Any

from jackstay.diagnostics.aside import Aside, How
from jackstay.diagnostics.fingerprints import fingerprint
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.report import shape
from jackstay.report.excerpt import Sources
from jackstay.report.summary import count
from jackstay.source.spans import Span

SCHEMA = "jackstay.findings/1"


def _place(at: Span) -> shape.Place:
    return shape.Place(at.path, at.line, at.start + 1, at.end + 1)


def _finding(told: Diagnostic, sources: Sources) -> shape.Finding:
    return shape.Finding(
        rule=told.rule,
        severity=told.severity.value,
        message=told.message,
        at=_place(told.at),
        note=told.note,
        labels=tuple(shape.Second(_place(label.at), label.text) for label in told.labels),
        events=tuple(
            shape.Happening(event.number, event.actor, event.text, event.leaves, _place(event.at))
            for event in told.events
        ),
        because=told.because,
        help=tuple(
            shape.Repair(fix.text, tuple(shape.Change(_place(edit.at), edit.text) for edit in fix.edits))
            for fix in told.help
        ),
        fingerprint=fingerprint(told, sources).digest(),
    )


def _set_aside(one: Aside, sources: Sources) -> shape.SetAside:
    found = one.finding
    return shape.SetAside(
        rule=found.rule,
        severity=found.severity.value,
        message=found.message,
        at=_place(found.at),
        how=one.how.value,
        by=one.by,
        reason=one.reason,
        until=one.until,
        now=one.now.value if one.now is not None else "",
        decided_at=_place(one.at),
        fingerprint=fingerprint(found, sources).digest(),
    )


def document(
    findings: Sequence[Diagnostic],
    files: int,
    undecided: int = 0,
    sources: Sources | None = None,
    aside: Sequence[Aside] = (),
) -> shape.Findings:
    """files: how many were read. undecided: points the analysis left open, as for the summary line. aside: what is
    not told as it was found. sources: texts by path, for the fingerprints."""
    open_points = max(undecided, count(findings, Severity.UNDECIDED))
    errors, warnings = count(findings, Severity.ERROR), count(findings, Severity.WARNING)
    each = {how: sum(one.how is how for one in aside) for how in How}
    counts = shape.Counts(
        errors=errors,
        warnings=warnings,
        undecided=open_points,
        notes=count(findings, Severity.NOTE),
        left_out=len(aside) - each[How.LOWERED],
        allowed=each[How.ALLOWED],
        turned_off=each[How.OFF],
        lowered=each[How.LOWERED],
        known=each[How.KNOWN],
        older=each[How.OLDER],
        files=files,
        clean=not (errors or warnings or open_points or aside),
    )
    texts = sources or {}
    told = tuple(_finding(one, texts) for one in findings)
    return shape.Findings("jackstay.findings/1", counts, told, tuple(_set_aside(one, texts) for one in aside))


def _plain(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if isinstance(value, str | int):
        return value
    return {part.name: _plain(getattr(value, part.name)) for part in fields(value)}


def render(
    findings: Sequence[Diagnostic],
    files: int,
    undecided: int = 0,
    sources: Sources | None = None,
    aside: Sequence[Aside] = (),
) -> str:
    """The document as text, ASCII only, ending in a line break."""
    return json.dumps(_plain(document(findings, files, undecided, sources, aside)), indent=1) + "\n"


def schema() -> dict[str, Any]:
    """The JSON schema of the document. Imports pydantic, which no check needs."""
    from pydantic import TypeAdapter

    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | TypeAdapter(shape.Findings).json_schema()


def schema_text() -> str:
    return json.dumps(schema(), indent=1) + "\n"
