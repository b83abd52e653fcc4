"""A step has to be over by a time, and nothing says what is done if it is not."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.wording._words import told

RULE = Rule(
    "timed-step-without-overrun",
    Severity.WARNING,
    "A step has to be over by a time, and nothing says what is done if it is not.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (of the step), bound (its place), mark (from which it counts)."""
    mark = problem.facts["mark"]
    return told(
        RULE,
        problem,
        f"This step has to be over within a time of {mark.name}, and the plan does not say what if it is not.",
        "and if it is late?",
        "when the time is missed there is no time to think about it",
        "say it in a `because` or a notice (“if it is late, …”), or begin a fallback `from` one of its calls",
        (Label(problem.facts["bound"], "the limit"),),
    )
