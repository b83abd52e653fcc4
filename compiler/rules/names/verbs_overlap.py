"""Two actions could be meant by one line."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("verbs-overlap", Severity.ERROR, "Two actions could be meant by one line.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text, other (the patterns), first (the other's place)."""
    text, other = problem.facts["text"], problem.facts["other"]
    return finding(
        RULE,
        problem,
        f"“{text}” and “{other}” could be one and the same line.",
        "the second of the two",
        "the same words, and nothing tells the kinds or the cast apart",
        label(problem.facts["first"], "the first"),
        (Fix("change a word of one, or the kind of a slot"),),
    )
