"""A thing from outside that is inside at the end, and nothing says so."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "came-inside", Severity.ERROR, "A thing that was outside is inside at the end, and the plan does not say so."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, where (a location)."""
    facts = problem.facts
    thing, excursion = facts["thing"], facts["excursion"]
    story = Story(plan, facts["flow"])
    variables = story.whole_way(thing)
    steps = [s for s in story.past(variables) if s.entry.task.excursion is excursion]
    last = steps[-1] if steps else None
    return finding(
        RULE,
        f"At the end of {excursion.name}, {the(thing)} is inside, {story.whereabouts(thing)}.",
        problem.at,
        note=f"nothing says that {the(thing)} comes in",
        labels=[
            *([Label(last.entry.at, f"{acting(last)} here")] if last is not None else []),
            *story.labels(thing, at=problem.at),
        ],
        events=story.tell(steps, variables),
        because=f"it was outside before, and neither a step leaves {the(thing)} there nor `comes inside` names it",
        fixes=(f"leave it outside, or say `comes inside: {thing.name}`",),
    )
