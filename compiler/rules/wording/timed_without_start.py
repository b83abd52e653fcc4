"""A time is counted from no moment."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("timed-without-start", Severity.WARNING, "A time is counted from no moment.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} counts a time, and not from when: {words(problem)}.",
        "from when?",
        "two readers start the watch at two moments",
        "name the event that starts it, and what is done when it is missed",
    )
