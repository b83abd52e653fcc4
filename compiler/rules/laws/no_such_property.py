"""An effect on a property that this thing does not have."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("no-such-property", Severity.ERROR, "A step sets a property that the thing in its slot does not have.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, thing, prop, text."""
    facts = problem.facts
    step, thing, prop = facts["step"], facts["thing"], facts["prop"]
    story = Story.of(plan, facts)
    kind = naming.a_kind(thing.kind.name)
    effects = [e.test.at for e in step.action.effects if e.test.text == facts["text"]] if step.action else []
    has = naming.listed(thing.kind.properties) or "no property at all"
    return finding(
        RULE,
        f"{acting(step)}, which sets the {prop} of {the(thing)}, but {kind} has no {prop}.",
        problem.at,
        note=f"{the(thing)} is {kind}",
        labels=[*story.labels(thing, at=problem.at), *(Label(at, "this is what it sets") for at in effects[:1])],
        because=f"{kind} has {has}",
    )
