"""An action that makes sure of something looks at nothing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told

RULE = Rule("verify-without-look", Severity.WARNING, "An action that makes sure of something looks at nothing.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: verb."""
    return told(
        RULE,
        problem,
        f"The action “{problem.facts['verb']} …” neither needs anything to be so nor makes it so.",
        "nothing is made sure of",
        "the plan goes on as if it had been looked at, and nothing in it depends on what was seen",
        "let it need, or make, what it makes sure of",
    )
