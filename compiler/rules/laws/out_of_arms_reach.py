"""A place that a machine does not reach."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("out-of-arms-reach", Severity.ERROR, "An actor is sent where its declared reach does not go.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, actor, place."""
    facts = problem.facts
    step, actor, place = facts["step"], facts["actor"], facts["place"]
    story = Story.of(plan, facts)
    reaches = naming.listed(the(one) for one in actor.reaches)
    return finding(
        RULE,
        f"{acting(step)}, but {the(actor)} does not reach {the(place)}.",
        problem.at,
        note=f"beyond the reach of {the(actor)}",
        labels=story.labels(actor, place, at=problem.at),
        events=story.history(step, (actor.place_var,), f"fails: {place.name} is out of reach"),
        because=f"{the(actor)} is declared to reach {reaches}",
    )
