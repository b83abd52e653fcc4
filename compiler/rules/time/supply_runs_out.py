"""A supply that is empty before its user is inside and the clock has stopped."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _supplies

RULE = Rule("supply-runs-out", Severity.ERROR, "A supply is empty before the end.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, actor, supply, course (a `timing.supplies.Course`), at_time, step (None: the actor waits), drawn
    (what drew most, in order), waited, others (supplies of the same actor that do the same, and when)."""
    facts = problem.facts
    course, supply = facts["course"], facts["supply"]
    short = _supplies.amount(supply.amount, -course.left_at_end)
    return finding(
        RULE,
        f"{_supplies.whose(facts['actor'], supply)} is empty at {_supplies.clock(facts['at_time'])}, "
        f"{_supplies.when(facts)}; it is needed for {_supplies.clock(course.end - facts['at_time'])} more.",
        problem.at,
        note=f"{short} short by the end",
        labels=_supplies.labels(facts, "empty too"),
        events=_supplies.events(facts),
        because=_supplies.because(facts),
    )
