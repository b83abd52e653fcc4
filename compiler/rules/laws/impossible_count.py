"""A count below nothing or above its total."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("impossible-count", Severity.ERROR, "A count would go below nothing, or above its total.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: thing, prop, before, after, total (None: no total is written), text, and flow, step (None: so written)."""
    facts = problem.facts
    thing, prop, total, step = facts["thing"], facts["prop"], facts["total"], facts.get("step")
    story = Story.of(plan, facts)
    before, after = naming.number(facts["before"]), naming.number(facts["after"])
    there = f"there are {naming.number(total)} in all" if total is not None else "a count does not go below 0"
    if step is not None:
        message = f"{acting(step)}, which makes the {prop} of {the(thing)} {after}; it is {before} before."
        var = thing.prop_vars.get(prop, -1)
        events = story.history(step, (var,) if var >= 0 else (), f"fails: {prop} of {thing.name} would be {after}")
    else:
        message = f"{the(thing)} is written with {prop} {after} of {naming.number(total)}."
        events = ()
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{prop} of {thing.name}: {before}",
        labels=story.labels(thing, at=problem.at),
        events=events,
        because=there if facts["after"] >= 0 else "a count does not go below 0",
    )
