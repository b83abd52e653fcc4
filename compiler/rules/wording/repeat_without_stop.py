"""A repetition has no end."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("repeat-without-stop", Severity.WARNING, "A repetition has no end.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} does not say when to stop: {words(problem)}.",
        "no end",
        "the reader stops when it seems enough",
        "say until when, how many times, or at most how often",
    )
