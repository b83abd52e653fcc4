"""A name stands twice in one list."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("named-twice", Severity.WARNING, "A name stands twice in one list.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, first (the earlier place)."""
    name = problem.facts["name"]
    return finding(
        RULE,
        problem,
        f"{name} is named twice.",
        "again",
        "naming it once says the same",
        label(problem.facts.get("first"), "named here already"),
        (Fix("take one of the two out, or name what was meant"),),
    )
