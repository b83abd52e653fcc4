"""A response does not say what was found."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("empty-response", Severity.WARNING, "A response does not say what was found.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} answers without a value: {words(problem)}.",
        "says nothing",
        "that can be said without a look",
        "have the value itself said: open, 210 kPa, green",
    )
