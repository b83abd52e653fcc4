"""A clause speaks of two sets at once."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("two-quantifiers", Severity.ERROR, "A clause speaks of two sets at once.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: first, second (the two words)."""
    first, second = problem.facts["first"], problem.facts["second"]
    return finding(
        RULE,
        problem,
        f"“{first}” and “{second}” in one clause leave open who goes with what.",
        "two at once",
        "a clause can be read in one way only when one of its two sides is fixed",
        help=(Fix("put a slot with its kind for one of the two: it means “for all”"),),
    )
