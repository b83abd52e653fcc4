"""A list of steps is too long to be kept in view."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told

RULE = Rule("long-list", Severity.WARNING, "A list of steps is too long to be kept in view.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: count, most, task."""
    return told(
        RULE,
        problem,
        f"There are {problem.facts['count']} steps under one heading; more than {problem.facts['most']} are too many.",
        f"{problem.facts['count']} steps",
        "in a long list the place is lost, and with it a step",
        "split it where something is finished: a heading, or a task, for each part",
    )
