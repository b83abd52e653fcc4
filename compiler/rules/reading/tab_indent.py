"""Tabs in front of a line."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("tab-indent", Severity.ERROR, "Lines are indented with tabs.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: lines (how many lines of the file have tabs in front)."""
    lines = problem.facts["lines"]
    many = "1 line is" if lines == 1 else f"{lines} lines are"
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"In {problem.at.path}, {many} indented with tabs.",
        problem.at,
        note="a tab" if lines == 1 else "the first of them",
        because="indentation is structure, and how wide a tab is differs from editor to editor",
        help=(Fix("indent with spaces"),),
    )
