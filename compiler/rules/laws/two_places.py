"""A thing that would hang on two things which are apart."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("two-places", Severity.ERROR, "A thing hangs on two holders that are not in one place.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: thing, first and second (holdings), text, first_at and second_at (locations), and flow, step (None: so
    written)."""
    facts = problem.facts
    thing, first, second, step = facts["thing"], facts["first"], facts["second"], facts.get("step")
    story = Story.of(plan, facts)
    one, two = story.hangs(first), story.hangs(second)
    if step is not None:
        message = f"{acting(step)}, but {the(thing)} is still {one}, and then also {two}."
        if any(holding.holder in step.cast for holding in (first, second)) or facts["first_at"] is facts["second_at"]:
            message = f"{acting(step)}, but {the(thing)} is held {one} and {two}, which then are apart."
        variables = [*story.own(thing), *story.whole_way(first.holder), *story.whole_way(second.holder)]
        events = story.history(step, variables, f"fails: {thing.name} would be in two places", lately=True)
    else:
        message = f"{the(thing)} is written {one} and {two}, which are apart."
        events = ()
    a, b = facts["first_at"], facts["second_at"]
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(thing)} cannot be in two places",
        labels=story.labels(thing, first.holder, second.holder, at=problem.at),
        events=events,
        because=f"the one is at {the(a)} and the other at {the(b)}"
        + (f", and nothing lets go of {the(thing)} before" if step is not None else ""),
    )
