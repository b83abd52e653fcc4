"""A date that no calendar has."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("bad-date", Severity.ERROR, "An allowance runs until a day that does not exist.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (as written)."""
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"There is no day {problem.facts['text']}.",
        problem.at,
        note="year-month-day",
        because="nobody can tell when this allowance runs out",
        help=(Fix("write a day of the calendar, like 2027-02-28"),),
    )
