"""A supply that is empty before the end on a day on which everything takes as long as it may."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _supplies

RULE = Rule("supply-may-run-out", Severity.WARNING, "A supply is empty before the end when every step takes longest.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: as of `supply-runs-out`; course and at_time are those of the longest day."""
    facts = problem.facts
    course, supply = facts["course"], facts["supply"]
    return finding(
        RULE,
        f"With every step at its longest {_supplies.whose(facts['actor'], supply)} is empty at "
        f"{_supplies.clock(facts['at_time'])}, {_supplies.when(facts)}; "
        f"it would be needed for {_supplies.clock(course.end - facts['at_time'])} more.",
        problem.at,
        note=f"{_supplies.amount(supply.amount, -course.left_at_end)} short by the end",
        labels=_supplies.labels(facts, "empty too"),
        events=_supplies.events(facts),
        because=_supplies.because(facts),
    )
