"""A condition stands behind the action it governs."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("buried-condition", Severity.WARNING, "A condition stands behind the action it governs.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} gives its condition after the action: {words(problem)}.",
        "condition last",
        "the action is done before the condition is read",
        "write the condition first",
    )
