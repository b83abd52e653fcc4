"""A thing that would hang on something that hangs on it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("inside-itself", Severity.ERROR, "Something is put on a thing that itself hangs on it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: thing, holder, text, and flow, step (None: so written)."""
    facts = problem.facts
    thing, holder, step = facts["thing"], facts["holder"], facts.get("step")
    story = Story.of(plan, facts)
    chain = []
    for node, _ in story.state.chain(holder):
        if node in chain:
            break
        chain.append(node)
        if node is thing:
            break
    itself = holder is thing
    circle = f"{the(holder)} itself" if itself else f"{the(holder)}, which hangs on {the(thing)}"
    variables = [v for node in chain for v in story.own(node)]
    if step is not None:
        message = f"{acting(step)}, which puts {the(thing)} on {circle}."
        events = story.history(step, variables, f"fails: {thing.name} would hang on itself", lately=True)
    else:
        message = f"{the(thing)} is written on {circle}: then {'it is nowhere' if itself else 'neither is anywhere'}."
        events = ()
    way = [*chain, thing] if chain[-1:] != [thing] else chain
    return finding(
        RULE,
        message,
        problem.at,
        labels=story.labels(*chain, at=problem.at),
        events=events,
        because="no location is at the bottom of it: "
        + naming.listed((f"{the(one)} on {the(two)}" for one, two in zip([thing, *way], way, strict=False)), "and"),
    )
