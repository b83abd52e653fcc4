"""An action that only looks, by its verb, changes something."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import quoted, told

RULE = Rule("check-that-acts", Severity.WARNING, "An action that only looks, by its verb, changes something.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: verb, effect (as written), effect_at."""
    return told(
        RULE,
        problem,
        f"The action “{problem.facts['verb']} …” changes something: {quoted(problem.facts['effect'])}.",
        "a check that acts",
        "who checks expects to leave everything as it is",
        "begin it with “verify”, or with the verb of what it does",
        (Label(problem.facts["effect_at"], "this is made"),),
    )
