"""A thing that is not on, in or with what a step needs it on."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Thing
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("not-where-needed", Severity.ERROR, "A step needs a thing that is somewhere else by then.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (the need that does not hold, of the form X on Y)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    thing, holder = naming.resolved(test.a, step.binding), naming.resolved(test.b, step.binding)
    need = Label(test.at, "this is what it needs")
    if thing is None or holder is None:
        return finding(RULE, f"{acting(step)}, but {test.text} does not hold.", problem.at, labels=[need])
    who = naming.who(step.binding)
    where = story.whereabouts(thing)
    relation = naming.relation(test, step.binding)
    they = len(naming.doers(step.binding)) > 1
    if test.negated:
        message = f"{who} {'need' if they else 'needs'} {the(thing)} not {relation}, but that is where it is."
    elif thing in naming.doers(step.binding):
        message = f"{who} would have to be {relation} for this, but is {where}."
    else:
        message = f"{who} {'need' if they else 'needs'} {the(thing)} {relation}, but it is {where}."
    variables = story.own(thing)
    past = story.past(variables)
    last = past[-1] if past else None
    labels = [*story.labels(thing, at=problem.at), need]
    if last is not None:
        labels.insert(0, Label(last.entry.at, f"{acting(last)} here"))
        because = f"no step after that {_brings(thing, relation, test.negated)}"
    else:
        because = f"no step before this {_brings(thing, relation, test.negated)}"
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(thing)} is {where}",
        labels=labels,
        events=story.history(step, variables, f"fails: {thing.name} is {where}"),
        because=because,
    )


def _brings(thing: Thing, relation: str, negated: bool) -> str:
    if negated:
        return f"takes {the(thing)} away from there"
    return f"puts {the(thing)} {relation}" if thing.sort == "item" else f"brings {the(thing)} there"
