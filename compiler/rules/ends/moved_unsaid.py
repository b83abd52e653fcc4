"""A thing that stays outside, on something else than before, and nothing says so."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "moved-unsaid",
    Severity.WARNING,
    "A thing outside hangs on something else at the end, and the plan does not say so.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, was (what it hung on), holder (what it hangs on), where (a location)."""
    facts = problem.facts
    thing, excursion = facts["thing"], facts["excursion"]
    was = Story(plan, facts["flow"], 0).where(facts["thing"])
    story = Story(plan, facts["flow"])
    variables = story.own(thing)
    steps = [s for s in story.past(variables) if s.entry.task.excursion is excursion]
    last = steps[-1] if steps else None
    return finding(
        RULE,
        f"At the end of {excursion.name}, {the(thing)} is {story.where(thing)}; at its start it was {was}.",
        problem.at,
        note=f"nothing says that {the(thing)} stays there",
        labels=[
            *([Label(last.entry.at, f"{acting(last)} here")] if last is not None else []),
            *story.labels(thing, at=problem.at),
        ],
        events=story.tell(steps, variables),
        because=f"neither `left outside` nor a `done when` names {the(thing)}: the next crew will look {was}",
        fixes=(f"say `left outside: {thing.name}`, or put it back",),
    )
