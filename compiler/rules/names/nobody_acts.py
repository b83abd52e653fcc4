"""An action does not say who does it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("nobody-acts", Severity.ERROR, "An action does not say who does it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: action (its words)."""
    return finding(
        RULE,
        problem,
        f"No line says who can “{problem.facts['action']}”.",
        "by whom?",
        "an action is done by actors of some kind",
        help=(Fix("add `by KIND` under it"),),
    )
