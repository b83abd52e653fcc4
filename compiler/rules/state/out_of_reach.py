"""Somebody who is not where a step needs them, or a thing out of their reach."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("out-of-reach", Severity.ERROR, "A step needs two things in one place, and they are in two.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (the need that does not hold: X in reach, or X at P)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    a, b = naming.resolved(test.a, step.binding), naming.resolved(test.b, step.binding)
    need = Label(test.at, "this is what it needs")
    if a is None or b is None:
        return finding(RULE, f"{acting(step)}, but {test.text} does not hold.", problem.at, labels=[need])
    if test.negated:
        message = f"{acting(step)}, which needs {the(a)} not {naming.relation(test, step.binding)}; it is."
    elif test.op == "located":
        message = f"{acting(step)}, which needs {the(a)} {naming.relation(test, step.binding)}; it is {story.place(a)}."
    elif b.sort == "actor" and a.sort == "location" and not a.near:
        message = f"{the(b)} cannot reach {the(a)}: {the(b)} is {story.where(b)}, not at {the(a)}."
    elif b.sort == "actor":
        message = f"{the(b)} cannot reach {the(a)}: {the(b)} is {story.where(b)}, {the(a)} {story.whereabouts(a)}."
    else:
        message = f"{the(a)} is {story.whereabouts(a)}, out of reach of {the(b)}, which is {story.whereabouts(b)}."
    variables = [*story.whole_way(a), *(story.whole_way(b) if test.op == "reach" else ())]
    lately = story.lately(variables)
    labels = [Label(s.entry.at, f"{acting(s)} here") for s in lately[-2:]]
    return finding(
        RULE,
        message,
        problem.at,
        note=f"needs {the(a)} {naming.relation(test, step.binding)}",
        labels=[*labels, *story.labels(a, b, at=problem.at), need],
        events=story.history(step, variables, "fails: not in reach" if test.op == "reach" else "fails", lately=True),
        because=f"no step before this brings {the(a)} and {the(b)} together"
        if not test.negated
        else f"no step before this takes {the(a)} away from there",
    )
