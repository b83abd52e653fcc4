"""Indentation beyond the limit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("too-deep", Severity.ERROR, "Lines are nested deeper than the compiler reads.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: cap (levels)."""
    cap = problem.facts["cap"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"This line is more than {cap} levels deep.",
        problem.at,
        note="not read, nor what is under it",
        because="the language nests a handful of levels; deeper text is damaged or was not written for it",
        help=(Fix("move it out to the level it belongs to"),),
    )
