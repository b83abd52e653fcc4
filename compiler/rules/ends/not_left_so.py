"""A state that the plan says something is left in, and it is not."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("not-left-so", Severity.ERROR, "Something is not left as the plan says it is left.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, prop, text (as written), value (at the end)."""
    facts = problem.facts
    thing, prop, excursion = facts["thing"], facts["prop"], facts["excursion"]
    story = Story(plan, facts["flow"])
    variables = [thing.prop_vars[prop]] if prop in thing.prop_vars else []
    state = f"the {prop} of {the(thing)} is {naming.property_value(thing, prop, facts['value'])}"
    steps = story.past(variables)
    return finding(
        RULE,
        f"At the end of {excursion.name}, {state}, but `left so` says “{facts['text']}”.",
        problem.at,
        note=state,
        labels=[
            *(Label(s.entry.at, f"{acting(s)} here") for s in steps[-1:]),
            *story.labels(thing, at=problem.at),
        ],
        events=story.tell(steps, variables),
        because=f"no step {'after that ' if steps else ''}makes it so",
    )
