"""A heading is not of the form who, where, in what."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("heading-shape", Severity.ERROR, "A heading is not of the form who, where, in what.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: found (the word that does not fit)."""
    found = problem.facts["found"]
    word = f"“{found}”" if found else "This"
    return finding(
        RULE,
        problem,
        f"{word} has no place in a heading.",
        "does not fit",
        "a heading says who, then with whom, at one place, in one seat",
        help=(Fix("write it as `WHO at PLACE in SEAT`; what is done goes on the lines under it"),),
    )
