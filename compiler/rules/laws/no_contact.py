"""Somebody who attaches or detaches what they cannot touch."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("no-contact", Severity.ERROR, "Somebody changes something that is not within their reach.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, doer, other (what is not within reach), thing (what is changed), text, doer_at, other_at."""
    facts = problem.facts
    step, doer, other, thing = facts["step"], facts["doer"], facts["other"], facts["thing"]
    story = Story.of(plan, facts)
    variables = [*story.whole_way(doer), *story.whole_way(other)]
    message = f"{acting(step)}, but cannot touch {the(other)}: {the(doer)} is {story.where(doer)}, "
    message += f"{the(other)} {story.whereabouts(other)}."
    made = naming.effect(step.action, facts["text"], step.binding)
    because = f"so that {made}, {the(doer)} has to be in one place with {the(other)}"
    if other is not thing:
        because += f", which {the(thing)} comes from or goes to"
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(doer)} is {story.where(doer)}",
        labels=story.labels(doer, other, at=problem.at),
        events=story.history(step, variables, f"fails: {other.name} is out of reach", lately=True),
        because=because,
    )
