"""A notice asks for an action of its own."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told, words

RULE = Rule("action-in-notice", Severity.WARNING, "A notice asks for an action of its own.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"This {problem.facts['kind']} holds a step: {words(problem)}.",
        "an action inside",
        "what stands in a notice is not ticked off, and a reader who knows the notice passes over it",
        "make it a step of its own, before or after the notice",
    )
