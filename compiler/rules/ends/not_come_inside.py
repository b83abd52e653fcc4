"""A thing that is said to come in, and does not."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "not-come-inside",
    Severity.ERROR,
    "A thing that the plan says comes inside does not come from outside, or stays there.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, where (a location), was_out (whether it was outside at the start)."""
    facts = problem.facts
    thing, excursion = facts["thing"], facts["excursion"]
    story = Story(plan, facts["flow"])
    variables = story.whole_way(thing)
    steps = [s for s in story.past(variables) if s.entry.task.excursion is excursion]
    last = steps[-1] if steps else None
    where = story.whereabouts(thing)
    if facts["was_out"]:
        message = f"{the(thing)} is said to come inside, but at the end of {excursion.name} it is {where}."
        because = f"no step {'after that ' if steps else ''}brings {the(thing)} inside"
    else:
        message = f"{the(thing)} is said to come inside in {excursion.name}, but it is inside from the start."
        because = "`comes inside` names what was outside before"
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(thing)} is {where}",
        labels=[
            *([Label(last.entry.at, f"{acting(last)} here")] if last is not None else []),
            *story.labels(thing, at=problem.at),
        ],
        events=story.tell(steps, variables),
        because=because,
    )
