"""An allowance that hides nothing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("unused-allow", Severity.WARNING, "An `allow` covers no finding of its rule.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: rule (the rule it allows)."""
    name = problem.facts["rule"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"There is no {name} here to allow.",
        problem.at,
        note="hides nothing",
        because="what it once excused has been repaired or has moved out of its lines",
        help=(Fix("take the line out, or move it to the statement it is meant for"),),
    )
