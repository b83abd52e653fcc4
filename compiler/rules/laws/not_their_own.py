"""A step that changes what somebody else holds, rides or hooks."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("not-their-own", Severity.ERROR, "A step changes what an actor holds or rides who takes no part in it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, holder (the actor who takes no part), thing, text."""
    facts = problem.facts
    step, holder, thing = facts["step"], facts["holder"], facts["thing"]
    story = Story.of(plan, facts)
    variables = story.own(thing)
    if thing is holder:
        message = f"{acting(step)}, which moves {the(holder)}, who takes no part in it."
        because = f"only a step of {naming.owner(holder)} own changes where {the(holder)} is"
    else:
        message = f"{acting(step)}, which changes what {the(holder)} holds, but {the(holder)} takes no part in it."
        because = f"only a step that occupies {the(holder)} too changes what {the(holder)} holds"
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(holder)} is not in this step",
        labels=story.labels(*([thing] if thing is not holder else []), holder, at=problem.at),
        events=story.history(step, variables, f"fails: {naming.proper(holder)} takes no part"),
        because=because,
    )
