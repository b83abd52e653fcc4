"""A signal word is stronger or weaker than the harm that is stated."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told, words

RULE = Rule("signal-word", Severity.WARNING, "A signal word is stronger or weaker than the harm that is stated.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words (of the harm), signal, wanted, strong (or weak)."""
    signal, wanted = problem.facts["signal"], problem.facts["wanted"]
    degree = "strong" if problem.facts["strong"] else "weak"
    return told(
        RULE,
        problem,
        f"{signal} is too {degree} for the harm stated here: {words(problem)} is {wanted}.",
        f"write {wanted}",
        "DANGER: will kill or injure seriously. WARNING: could. CAUTION: slight injury. NOTICE: no injury",
        "use the signal word that fits, or state the harm as it is",
    )
