"""A date that no calendar has."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("bad-date", Severity.ERROR, "A day is named that no calendar has.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (as written), of (excursion: the day it begins; else an allowance runs until it)."""
    begins = problem.facts.get("of") == "excursion"
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"There is no day {problem.facts['text']}.",
        problem.at,
        note="year-month-day",
        because=f"nobody can tell when this {'excursion begins' if begins else 'allowance runs out'}",
        help=(Fix("write a day of the calendar, like 2027-02-28"),),
    )
