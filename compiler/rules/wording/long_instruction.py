"""A sentence has more words than a reader keeps in mind."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, told, words

RULE = Rule("long-instruction", Severity.WARNING, "A sentence has more words than a reader keeps in mind.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (its first), count, most."""
    count, most = problem.facts["count"], problem.facts["most"]
    return told(
        RULE,
        problem,
        f"{kind(problem)} has a sentence of {count} words; at most {most} are asked for.",
        f"{count} words",
        f"it begins {words(problem)}",
        "cut it in two, or leave out what the reader does not need here",
    )
