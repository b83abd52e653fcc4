"""A place in the plan that is not yet written."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("hole", Severity.UNDECIDED, "A part of the plan is not yet written.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: task (the name of the task it is in)."""
    task = problem.facts.get("task")
    where = f" of {task}" if task else ""
    return finding(
        RULE,
        f"A part{where} is not yet written; the rest has been followed as if nothing happened here.",
        problem.at,
        note="not yet written",
        because="what comes here may change what is held, where, and how long it takes",
    )
