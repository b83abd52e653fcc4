"""A notice leaves out what may happen, or how to avoid it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told

RULE = Rule("half-a-notice", Severity.WARNING, "A notice leaves out what may happen, or how to avoid it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words, missing (the parts)."""
    return told(
        RULE,
        problem,
        f"This {problem.facts['kind']} does not say {' or '.join(problem.facts['missing'])}.",
        "incomplete",
        "whoever is told to keep clear, and not of what, keeps clear of something else",
        "say what is dangerous, what may happen, and how to avoid it",
    )
