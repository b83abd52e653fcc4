"""A slot is filled with a number or a text where it takes a thing, or the other way round."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import capital, finding
from jackstay.rules.records import Rule

RULE = Rule(
    "wrong-argument",
    Severity.ERROR,
    "A slot is filled with a number or a text where it takes a thing, or the other way round.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: found, wanted (in words)."""
    found, wanted = problem.facts["found"], problem.facts["wanted"]
    return finding(
        RULE,
        problem,
        f"{capital(found)} stands where {wanted} belongs.",
        f"not {wanted}",
        f"the step can be done only with {wanted}",
        help=(Fix(f"write {wanted} here"),),
    )
