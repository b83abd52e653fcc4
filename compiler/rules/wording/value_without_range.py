"""An expected value stands alone, without a range."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("value-without-range", Severity.WARNING, "An expected value stands alone, without a range.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} is one value, and no reading is ever just that: {words(problem)}.",
        "no range",
        "who reads a little more or less has to judge alone whether that will do",
        "write from where to where, or at most, or at least",
    )
