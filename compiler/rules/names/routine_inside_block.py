"""A routine is called as if it were somebody's step."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("routine-inside-block", Severity.ERROR, "A routine is called as if it were somebody's step.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (the routine's pattern), decl."""
    return finding(
        RULE,
        problem,
        f"“{problem.facts['text']}” is a routine, and is called here as one person's step.",
        "not a step",
        "its own headings say who acts",
        label(problem.facts["decl"], "the routine"),
        (Fix("call it one level further left, beside the headings"),),
    )
