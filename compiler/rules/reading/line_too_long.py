"""A line beyond the limit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("line-too-long", Severity.ERROR, "A line is longer than the compiler reads.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: length, cap (both in characters)."""
    length, cap = problem.facts["length"], problem.facts["cap"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"This line has {length} characters; {cap} is the most that is read.",
        problem.at,
        because="the line has been left out of the check",
        help=(
            Fix("break it: a line that begins with `and`, `or` or `then`, indented deeper, continues the one above"),
        ),
    )
