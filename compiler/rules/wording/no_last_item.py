"""A long task has no last item that says that it is over."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told

RULE = Rule("no-last-item", Severity.WARNING, "A long task has no last item that says that it is over.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: task, count, last (the place of its last step)."""
    return told(
        RULE,
        problem,
        f"The task {problem.facts['task'].name} has {problem.facts['count']} steps, and nothing says that it is over.",
        "no last item",
        "a task that was broken off looks like one that was finished",
        "end it with a call (`says NAME`, or words that are said), or say `done when …`",
        (Label(problem.facts["last"], "the last step"),),
    )
