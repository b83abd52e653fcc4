"""The closing line. The word clean is kept for plans in which nothing was found and everything was decided."""

from __future__ import annotations

from collections.abc import Sequence

from jackstay.diagnostics.aside import PLAN, Aside, How, counted, groups, sorts, totals
from jackstay.diagnostics.records import Diagnostic, Severity

__all__ = ["count", "counted", "left_out", "summary"]
_OLD = {How.KNOWN, How.OLDER}


def count(findings: Sequence[Diagnostic], severity: Severity) -> int:
    return sum(finding.severity is severity for finding in findings)


def _why(one: Aside) -> str:
    if one.how is How.ALLOWED:
        return f"that {PLAN if one.by == PLAN else one.by} allows"
    if one.how is How.OLDER:
        return f"that {one.by} has too"
    return f"that {one.by} {'knows' if one.how is How.KNOWN else 'turns off'}"


def left_out(aside: Sequence[Aside]) -> list[str]:
    """A line on each sort of finding that is not told as it was found: ``left out: 3 findings that baseline.json knows
    (2 errors, 1 warning)``; below it, each decision of the plan or the project, with its reason."""
    by_decision: dict[tuple[How, str], list[Aside]] = {}
    for how in How:
        for one in aside:
            if one.how is how:
                by_decision.setdefault((how, one.by), []).append(one)
    lines = []
    for (how, by), several in by_decision.items():
        findings = [one.finding for one in several]
        kinds = ", ".join(sorts(findings))
        if how is How.LOWERED:
            lines.append(f"made less: {counted(len(findings), 'finding')} by {by} ({kinds})")
        else:
            lines.append(f"left out: {counted(len(findings), 'finding')} {_why(several[0])} ({kinds})")
        if how not in _OLD:
            lines += [f"  {group.told}" for group in groups(several)]
        elif count(findings, Severity.ERROR):
            lines[-1] += (
                "; what builds on a step that fails (times, fallbacks, droppable tasks) may not have been judged"
            )
    return lines


def summary(findings: Sequence[Diagnostic], files: int, undecided: int = 0, aside: Sequence[Aside] = ()) -> str:
    """files: how many were read. undecided: points that the analysis left open; findings that say so count already.
    aside: what is not told as it was found: a plan that has some is not called clean."""
    errors = count(findings, Severity.ERROR)
    warnings = count(findings, Severity.WARNING)
    notes = count(findings, Severity.NOTE)
    open_points = max(undecided, count(findings, Severity.UNDECIDED))
    places = f"in {counted(files, 'file')}"
    left_open = f"{counted(open_points, 'point')} not decided" if open_points else ""
    noted = f", {counted(notes, 'note')}" if notes else ""
    others = f"; {totals(aside)}" if aside else ""
    told = errors + warnings
    if told:
        parts = [counted(errors, "error")] if errors else []
        parts += [counted(warnings, "warning")] if warnings else []
        parts += [left_open] if left_open else []
        return f"{counted(told, 'finding')}: {', '.join(parts)} {places}{others}"
    if left_open:
        return f"no finding{' left' if aside else ''}; {left_open} {places}{others}"
    if any(one.how in _OLD for one in aside):
        return f"nothing new found {places}{noted}{others}"
    if aside:
        return f"no findings left: {counted(files, 'file')}{noted}{others}"
    if notes:
        return f"clean: {counted(files, 'file')}, {counted(notes, 'note')}"
    return f"clean: {counted(files, 'file')}, nothing found, nothing left undecided"
