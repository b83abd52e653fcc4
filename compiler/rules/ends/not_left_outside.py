"""A thing that is said to stay out, and is inside."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("not-left-outside", Severity.ERROR, "A thing that the plan says is left outside is inside at the end.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, where (a location), decl."""
    facts = problem.facts
    thing, excursion = facts["thing"], facts["excursion"]
    story = Story(plan, facts["flow"])
    variables = story.whole_way(thing)
    where = story.whereabouts(thing)
    steps = [s for s in story.past(variables) if s.entry.task.excursion is excursion]
    last = steps[-1] if steps else None
    return finding(
        RULE,
        f"{the(thing)} is to be left outside, but at the end of {excursion.name} it is inside, {where}.",
        problem.at,
        note=f"{the(thing)} is {where}",
        labels=[
            *([Label(last.entry.at, f"{acting(last)} here")] if last is not None else []),
            *story.labels(thing, at=problem.at),
        ],
        events=story.tell(steps, variables),
        because=f"no step leaves {the(thing)} outside"
        if not steps
        else f"no step after that leaves {the(thing)} outside",
    )
