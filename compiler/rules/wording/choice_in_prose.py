"""A choice is hidden in a sentence."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("choice-in-prose", Severity.WARNING, "A choice is hidden in a sentence.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} leaves a choice inside a sentence: {words(problem)}.",
        "a choice",
        "what was chosen is written down nowhere, and what depends on it cannot be checked",
        "decide it in the plan, or make each way a fallback of its own",
    )
