"""A step of which nobody says how long it takes."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding

RULE = Rule(
    "no-duration", Severity.UNDECIDED, "Nothing says how long a step takes, so what comes after it has no time."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: action, step (the first such step), steps (all of them)."""
    facts = problem.facts
    action, steps = facts["action"], facts["steps"]
    others = len(steps) - 1
    more = f"; {others} more such step{'s' if others > 1 else ''}" if others else ""
    return finding(
        RULE,
        f"How long it takes is not known: {acting(facts['step'])}{more}.",
        problem.at,
        note="no duration",
        labels=[Label(action.decl, "the action has no `takes`")],
        because="neither this line nor its action says it: every later time is a lower bound, and no limit is sure",
        fixes=["write the time behind the step, `[4 min]`, or a `takes` in the action"],
    )
