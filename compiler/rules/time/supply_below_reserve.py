"""A supply that lasts, but not without its reserve."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _supplies

RULE = Rule("supply-below-reserve", Severity.WARNING, "A supply lasts to the end, but only with its reserve.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, actor, supply, course (a `timing.supplies.Course`), at_time, step (None: the actor waits), drawn
    (what drew most, in order), waited, others (supplies of the same actor that do the same, and when)."""
    facts = problem.facts
    course, supply = facts["course"], facts["supply"]
    return finding(
        RULE,
        f"{_supplies.whose(facts['actor'], supply)} goes below its reserve of {supply.reserve.text} at "
        f"{_supplies.clock(facts['at_time'])}, {_supplies.when(facts)}; "
        f"{_supplies.amount(supply.amount, course.left_at_end)} is left at the end.",
        problem.at,
        note="from here on out of the reserve",
        labels=_supplies.labels(facts, "below its reserve too"),
        events=_supplies.events(facts),
        because=_supplies.because(facts),
    )
