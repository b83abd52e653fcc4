"""A kind is made from itself."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("kind-in-circle", Severity.ERROR, "A kind is made from itself.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: circle (names of kinds, each is the one before)."""
    circle = problem.facts["circle"]
    chain = " is ".join([*circle, circle[0]])
    return finding(
        RULE,
        problem,
        f"The kind {circle[-1]} is made from itself.",
        "closes the circle",
        f"{chain}: no kind comes first",
        help=(Fix("take one of these parents out"),),
    )
