"""A step that may take less than its action lets it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding
from jackstay.rules.time._chain import length

RULE = Rule("too-fast", Severity.ERROR, "A step takes less time than its action allows.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: step, least (seconds that it has to take there), takes (seconds that it takes at the least)."""
    facts = problem.facts
    step = facts["step"]
    return finding(
        RULE,
        f"{acting(step)}: that may take {length(facts['takes'])}, and has to take {length(facts['least'])} at least.",
        problem.at,
        note="too fast",
        labels=[Label(step.action.decl, "this action says how fast it may be")],
        because="its line `no faster than` gives the least time, and the least of the step's three numbers is below it",
        fixes=[f"give it {length(facts['least'])} or more, in the least of its numbers too"],
    )
