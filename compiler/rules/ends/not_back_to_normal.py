"""A property that does not stand as it normally does."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "not-back-to-normal",
    Severity.ERROR,
    "Something is changed and not set back, and the plan does not say that it stays so.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing, prop, value (at the end), normal."""
    facts = problem.facts
    thing, prop, excursion = facts["thing"], facts["prop"], facts["excursion"]
    story = Story(plan, facts["flow"])
    var = thing.prop_vars.get(prop, -1)
    steps = [s for s in story.past((var,)) if s.entry.task.excursion is excursion]
    value = naming.property_value(thing, prop, facts["value"])
    normal = naming.property_value(thing, prop, facts["normal"])
    declared = thing.kind.properties.get(prop)
    labels = [Label(s.entry.at, f"{acting(s)} here") for s in steps[-1:]]
    if declared is not None:
        labels.append(Label(declared.decl, f"how {prop} stands normally"))
    return finding(
        RULE,
        f"At the end of {excursion.name}, the {prop} of {the(thing)} is {value}; normally it is {normal}.",
        problem.at,
        note=f"{prop} of {thing.name} is left at {value}",
        labels=[*labels, *story.labels(thing, at=problem.at)],
        events=story.tell(steps, (var,)),
        because=f"no step after that makes it {normal} again, and `left so` does not name it",
        fixes=(f"set it back, or say `left so: {prop} of {thing.name} is {naming.number(facts['value'])}`",),
    )
