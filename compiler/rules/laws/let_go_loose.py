"""A thing that nothing holds any more."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("let-go-loose", Severity.ERROR, "A thing is let go that nothing else holds.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, thing, holder (the last to hold it), where (a location, or None), text."""
    facts = problem.facts
    step, thing, holder, where = facts["step"], facts["thing"], facts["holder"], facts["where"]
    story = Story.of(plan, facts)
    of = f" ({naming.a_kind(where.kind.name)})" if where is not None else ""
    return finding(
        RULE,
        f"{acting(step)}, and then nothing holds {the(thing)}.",
        problem.at,
        note=f"{the(thing)} is loose after this",
        labels=story.labels(thing, *([where] if where is not None else []), at=problem.at),
        events=story.history(step, story.own(thing), f"fails: {thing.name} on nothing"),
        because=f"{the(holder)} is the last to hold it, and things do not lie at {the(where)}{of} by themselves",
        fixes=("let something else take hold of it before",),
    )
