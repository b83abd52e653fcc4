"""A step that is over later than its `by` allows."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import added_up, clock, length, of_step

RULE = Rule("past-time", Severity.ERROR, "By the nominal times a step is over later than its `by` says.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: bound, step (whose end is late), end (when it is over), late (seconds), chain (what adds up to it)."""
    facts = problem.facts
    step = facts["step"]
    return finding(
        RULE,
        f"{of_step(step)} is over at {clock(facts['end'])}, {length(facts['late'])} later than this says.",
        problem.at,
        note=f"by {clock(facts['bound'].value)}",
        labels=[Label(step.entry.at, f"over {length(facts['late'])} later")],
        events=added_up(facts["chain"]),
        because="each of these begins as soon as the one before it lets it, and every step takes its usual time",
        fixes=["begin this earlier, take something out of this chain, or allow more time"],
    )
