"""A `takes` that comes to no time at all."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding
from jackstay.rules.time._chain import length

RULE = Rule("bad-duration", Severity.ERROR, "What an action's `takes` comes to is no duration.")

_BECAUSE = {
    "no-value": "a table has no row for it, a divisor is nothing, or a property has no value",
    "no-way": "`route` is the length of a way that is inserted along paths, and this step has none",
    "below-nothing": "no step takes less than no time",
    "out-of-order": "the likely time lies between the least and the most",
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: step, why (no-value, no-way, below-nothing, out-of-order), values (least, likely, most in seconds)."""
    facts = problem.facts
    step, why = facts["step"], facts["why"]
    numbers = [value for value in facts["values"] if value is not None]
    if why in ("no-value", "no-way"):
        what = "the time it takes has no value"
    elif why == "below-nothing":
        what = f"it would take {_signed(min(numbers))}"
    else:
        least, likely, most = facts["values"]
        what = f"it would take {_signed(likely)}, from {_signed(least)} to {_signed(most)}"
    way = "let a heading bring the way in, `WHO at PLACE`, or write the time behind the step"
    return finding(
        RULE,
        f"{acting(step)}: {what}.",
        problem.at,
        note="no duration",
        labels=[Label(step.action.decl, "by this action's `takes`")],
        because=_BECAUSE[why],
        fixes=[way] if why == "no-way" else [],
    )


def _signed(seconds: Any) -> str:
    return f"-{length(-seconds)}" if seconds < 0 else length(seconds)
