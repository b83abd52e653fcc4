"""What was left until an excursion, and is still there when it has ended."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, finding

RULE = Rule(
    "stays-past-until", Severity.WARNING, "What is left until an excursion is not taken, or set back, by its end."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow (of the later excursion), thing, until (its name), by (that excursion), holder (what the thing still
    hangs on; None: a state is meant)."""
    facts = problem.facts
    thing, by, holder = facts["thing"], facts["by"], facts["holder"]
    story = Story(plan, facts["flow"])
    if holder is not None:
        variables = story.own(thing)
        message = (
            f"{the(thing)} is left until {by.name}, but when {by.name} has ended it is still {story.where(thing)}."
        )
        because = f"no step of {by.name} takes {the(thing)} from there"
    else:
        variables = list(thing.prop_vars.values())
        message = f"This is left so until {by.name}, but when {by.name} has ended it is still so."
        because = f"no step of {by.name} sets it back"
    steps = story.past(variables)
    return finding(
        RULE,
        message,
        problem.at,
        note=f"until {by.name}",
        labels=[Label(by.decl, f"{by.name} does not touch it"), *story.labels(thing, at=problem.at)],
        events=story.tell(steps, variables),
        because=because,
    )
