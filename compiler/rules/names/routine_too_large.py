"""Calls of routines that unfold into more steps than anybody flies."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("routine-too-large", Severity.ERROR, "Routines that call routines unfold into far too many steps.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: most (how many steps are followed), decl (the routine that was one too many)."""
    most = problem.facts["most"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"This call unfolds into more than {most} steps.",
        problem.at,
        note="too many steps",
        labels=(Label(problem.facts["decl"], "called once more here, and not followed any further"),),
        because="a routine that calls another twice doubles its steps, and so on down",
        help=(Fix("call the inner routine where it is needed, not from every other one"),),
    )
