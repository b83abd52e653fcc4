"""A measured value has no unit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("value-without-unit", Severity.WARNING, "A measured value has no unit.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} has a value without a unit: {words(problem)}.",
        "no unit",
        "a number alone is read in the unit that the reader is used to",
        "write the unit",
    )
