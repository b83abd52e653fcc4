"""One sentence gives several instructions."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import kind, quoted, told

RULE = Rule("several-instructions", Severity.WARNING, "One sentence gives several instructions.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words, verbs."""
    verbs = problem.facts["verbs"]
    return told(
        RULE,
        problem,
        f"{kind(problem)} asks for {len(verbs)} things in one sentence: {quoted(', '.join(verbs))}.",
        "more than one instruction",
        "a reader who looks up after the first does not find the second again",
        "write each in a sentence, or better in a step, of its own",
    )
