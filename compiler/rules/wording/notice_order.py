"""The notices before a step are out of order."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told

RULE = Rule("notice-order", Severity.WARNING, "The notices before a step are out of order.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: sort, before (the sort of the one before), first (its place)."""
    return told(
        RULE,
        problem,
        f"This {problem.facts['sort']} stands after a {problem.facts['before']} of the same step.",
        "comes first",
        "what may hurt somebody is read first",
        "warnings first, then cautions, then notes",
        (Label(problem.facts["first"], "this comes before it"),),
    )
