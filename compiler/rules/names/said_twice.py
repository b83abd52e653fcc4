"""Something is said twice that can be said once."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import capital, finding, label
from jackstay.rules.records import Rule

RULE = Rule("said-twice", Severity.ERROR, "Something is said twice that can be said once.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: what (in words), first (the earlier place)."""
    what, first = problem.facts["what"], problem.facts["first"]
    return finding(
        RULE,
        problem,
        f"{capital(what)} is said a second time.",
        "again",
        "only one of the two can hold",
        label(first, "said here already"),
        (Fix("take one of the two out"),),
    )
