"""An amount or a manner has no limit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("vague-amount", Severity.WARNING, "An amount or a manner has no limit.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (those it is about)."""
    return told(
        RULE,
        problem,
        f"{kind(problem)} leaves open how much: {words(problem)}.",
        "no limit",
        "each reader does what seems right",
        "give a number with its range, or a limit: at most, at least, until",
    )
