"""A sentence turns round on itself: it has two negations."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("several-negatives", Severity.WARNING, "A sentence turns round on itself: it has two negations.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} has two negations in one sentence: {words(problem)}.",
        "two negations",
        "each turns the sense round, and one is easily missed",
        "say what is to be so, instead of what is not to be not so",
    )
