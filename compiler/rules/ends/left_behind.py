"""A thing that is still outside at the end, and nothing says that it stays."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "left-behind", Severity.ERROR, "A thing that went out is still out at the end, and the plan does not say so."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, where (a location), holder (what it hangs on)."""
    facts = problem.facts
    thing, excursion = facts["thing"], facts["excursion"]
    story = Story(plan, facts["flow"])
    variables = story.whole_way(thing)
    steps = [s for s in story.past(variables) if s.entry.task.excursion is excursion]
    last = steps[-1] if steps else None
    return finding(
        RULE,
        f"At the end of {excursion.name}, {the(thing)} is still {story.whereabouts(thing)}.",
        problem.at,
        note=f"nothing says that {the(thing)} stays out",
        labels=[
            *([Label(last.entry.at, f"{acting(last)} here")] if last is not None else []),
            *story.labels(thing, at=problem.at),
        ],
        events=story.tell(steps, variables),
        because=f"it was inside before, and neither a step brings {the(thing)} back nor `left outside` names it",
        fixes=(f"bring it inside, or say `left outside: {thing.name}`",),
    )
