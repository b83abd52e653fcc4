"""Somebody stops and calls, and nobody in the plan waits for that call."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told, words

RULE = Rule(
    "stop-call-without-handler",
    Severity.WARNING,
    "Somebody stops and calls, and nobody in the plan waits for that call.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: words (what is said), mark (its name, or empty)."""
    return told(
        RULE,
        problem,
        f"Nobody in the plan answers the call {words(problem)}.",
        "who hears it?",
        "the others go on while one has stopped",
        "give the call a mark (`says NAME`), and let somebody's step wait `on` it",
    )
