"""The closing line. The word clean is kept for plans in which nothing was found and everything was decided."""

from __future__ import annotations

from collections.abc import Sequence

from jackstay.diagnostics.records import Diagnostic, Severity


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def count(findings: Sequence[Diagnostic], severity: Severity) -> int:
    return sum(finding.severity is severity for finding in findings)


def summary(findings: Sequence[Diagnostic], files: int, undecided: int = 0) -> str:
    """files: how many were read. undecided: points that the analysis left open; findings that say so count already."""
    errors = count(findings, Severity.ERROR)
    warnings = count(findings, Severity.WARNING)
    notes = count(findings, Severity.NOTE)
    open_points = max(undecided, count(findings, Severity.UNDECIDED))
    places = f"in {counted(files, 'file')}"
    left_open = f"{counted(open_points, 'point')} not decided" if open_points else ""
    told = errors + warnings
    if told:
        parts = [counted(errors, "error")] if errors else []
        parts += [counted(warnings, "warning")] if warnings else []
        parts += [left_open] if left_open else []
        return f"{counted(told, 'finding')}: {', '.join(parts)} {places}"
    if left_open:
        return f"no finding; {left_open} {places}"
    if notes:
        return f"clean: {counted(files, 'file')}, {counted(notes, 'note')}"
    return f"clean: {counted(files, 'file')}, nothing found, nothing left undecided"
