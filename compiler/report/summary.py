"""The closing line. The word clean is kept for plans in which nothing was found and everything was decided."""

from __future__ import annotations

from collections.abc import Sequence

from jackstay.diagnostics.records import Diagnostic, Severity


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def count(findings: Sequence[Diagnostic], severity: Severity) -> int:
    return sum(finding.severity is severity for finding in findings)


def _lightened(finding: Diagnostic) -> bool:
    """Whether a project has made a note of what the rule takes for more."""
    from jackstay.rules import registry

    return registry.exists(finding.rule) and registry.rule(finding.rule).severity is not finding.severity


def left_out(findings: Sequence[Diagnostic], why: str, old: bool) -> str:
    """One line on findings that are not told: ``left out: 3 findings that baseline.json knows (2 errors, 1 warning)``.

    old: they are only known; an error among them still keeps what builds on it from being judged."""
    errors, open_points = count(findings, Severity.ERROR), count(findings, Severity.UNDECIDED)
    kinds = [counted(errors, "error")] if errors else []
    kinds += [counted(many, "warning")] if (many := count(findings, Severity.WARNING)) else []
    kinds += [f"{counted(open_points, 'point')} not decided"] if open_points else []
    kinds += [counted(many, "note")] if (many := count(findings, Severity.NOTE)) else []
    told = f"left out: {counted(len(findings), 'finding')} {why} ({', '.join(kinds)})"
    if old and errors:
        told += "; what builds on a step that fails (times, fallbacks, droppable tasks) may not have been judged"
    return told


def summary(
    findings: Sequence[Diagnostic], files: int, undecided: int = 0, left_out: int = 0, only_new: bool = False
) -> str:
    """files: how many were read. undecided: points that the analysis left open; findings that say so count already.
    left_out: findings that are not told: a plan that has some is not called clean. only_new: the older ones are."""
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
    if left_out:
        return f"nothing {'new' if only_new else 'else'} found {places}" + (
            f", {counted(notes, 'note')}" if notes else ""
        )
    if any(map(_lightened, findings)):
        return f"nothing but notes {places}: {counted(notes, 'note')}"
    if notes:
        return f"clean: {counted(files, 'file')}, {counted(notes, 'note')}"
    return f"clean: {counted(files, 'file')}, nothing found, nothing left undecided"
