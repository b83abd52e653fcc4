"""An allowance whose last day is over."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("expired-allow", Severity.WARNING, "An `allow` has passed its last day and no longer counts.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: rule (the rule it allowed), until (its last day), back (how many findings it would still hide)."""
    name, until, back = problem.facts["rule"], problem.facts["until"], problem.facts["back"]
    if back:
        because = "what it excused is still there, and is reported again"
        repair = "repair the plan, or decide anew and write a later day"
    else:
        because = "what it excused is gone"
        repair = "take the line out"
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{name} was allowed until {until.isoformat()}, and that day is over.",
        problem.at,
        note="no longer counts",
        because=because,
        help=(Fix(repair),),
    )
