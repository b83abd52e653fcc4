"""A name is declared a second time."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("name-taken", Severity.ERROR, "A name is declared a second time.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, first (the earlier place)."""
    name, first = problem.facts["name"], problem.facts["first"]
    return finding(
        RULE,
        problem,
        f"{name} is declared a second time.",
        "again",
        "whatever speaks of it could mean either",
        label(first, "declared here already"),
        (Fix("give one of the two another name"),),
    )
