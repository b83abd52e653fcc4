"""Somebody who went out and has not come back."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "crew-left-outside", Severity.ERROR, "An excursion ends with somebody still outside who was inside at its start."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing (the actor), where (a location)."""
    facts = problem.facts
    actor, excursion = facts["thing"], facts["excursion"]
    story = Story(plan, facts["flow"])
    variables = (actor.place_var,)
    steps = [s for s in story.past(variables) if s.entry.task.excursion is excursion]
    own = [s for s in facts["flow"].steps if actor in s.cast]
    last = own[-1] if own else None
    return finding(
        RULE,
        f"{the(actor)} is still {story.whereabouts(actor)} when {excursion.name} ends.",
        problem.at,
        note=f"{the(actor)} does not come back",
        labels=[
            *([Label(last.entry.at, f"the last step of {the(actor)}: {acting(last)}")] if last is not None else [])
        ],
        events=story.tell(steps, variables),
        because=f"no heading after that brings {the(actor)} inside",
    )
