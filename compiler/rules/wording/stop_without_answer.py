"""Somebody is to stop and call, and nobody is said to answer."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("stop-without-answer", Severity.WARNING, "Somebody is to stop and call, and nobody is said to answer.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} has somebody stop and call, and does not say who answers and how: {words(problem)}.",
        "who answers?",
        "whoever has stopped waits, and nobody knows that it is their turn",
        "say who answers, and what is then done",
    )
