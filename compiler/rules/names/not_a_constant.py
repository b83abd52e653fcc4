"""A value must be known when the plan is written, and is not."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("not-a-constant", Severity.ERROR, "A value must be known when the plan is written, and is not.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: why (state, zero, row, circle, no-size)."""
    message, because = {
        "zero": ("Something is divided by nothing.", "no number comes of that"),
        "circle": ("This value is reckoned from itself.", "it, or what it is reckoned from, names it again"),
        "no-size": ("A unit of no size measures nothing.", "its factor is zero"),
        "row": ("The table has no row for this value.", "the rows written do not reach so far"),
    }.get(problem.facts["why"], ("This value depends on how a thing stands.", "things change while the plan runs"))
    return finding(
        RULE,
        problem,
        message,
        "not known",
        because,
        help=(Fix("write the value itself, or one that is reckoned from values"),),
    )
