"""A notice is of another kind than the harm it tells of."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told, words

RULE = Rule("wrong-notice", Severity.WARNING, "A notice is of another kind than the harm it tells of.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: kind, text, words, wanted (the kind that fits)."""
    wanted = problem.facts["wanted"]
    harm = "injury" if wanted == "warning" else "damage to things"
    return told(
        RULE,
        problem,
        f"This {problem.facts['kind']} tells of {harm}: it is a {problem.facts['wanted']}.",
        f"write `{problem.facts['wanted']}`",
        f"by these words: {words(problem)}",
        f"make it a `{problem.facts['wanted']}`, or say what else may happen",
    )
