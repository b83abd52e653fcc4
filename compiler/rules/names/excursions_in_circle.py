"""Excursions start from each other in a circle."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, listed
from jackstay.rules.records import Rule

RULE = Rule("excursions-in-circle", Severity.ERROR, "Excursions start from each other in a circle.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: circle (names, each starts from the next)."""
    circle = problem.facts["circle"]
    if len(circle) == 1:
        message = f"{circle[0]} starts as it ends itself."
    else:
        message = f"The excursions {listed(circle)} start from each other in a circle."
    return finding(
        RULE,
        problem,
        message,
        "closes the circle",
        "none of them can be the first",
        help=(Fix("let one of them start as a file's things are written: `starts as FILE`"),),
    )
