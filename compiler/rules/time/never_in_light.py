"""A step that fits into no stretch of the light it asks for."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import clock, length, of_step

RULE = Rule(
    "never-in-light", Severity.ERROR, "A step needs more daylight, or more dark, than ever comes in one stretch."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: step, word (daylight, dark), needs (its longest duration, seconds), ready (when it could begin)."""
    facts = problem.facts
    light, word = facts["excursion"].light, facts["word"]
    longest = light.dark.value if word == "dark" else light.every.value - light.dark.value
    stretch = f"the longest stretch of {word} is {length(longest)}" if longest > 0 else f"there is no {word} at all"
    return finding(
        RULE,
        f"{of_step(facts['step'])} takes up to {length(facts['needs'])}, "
        f"but from {clock(facts['ready'])} on {stretch}.",
        problem.at,
        note=f"in {word}",
        labels=[Label(light.at, "this light"), Label(facts["step"].entry.at, "this step")],
        because="a step starts only when the longest that it may take fits into one stretch",
        fixes=["cut the step in two, or let it run in any light"],
    )
