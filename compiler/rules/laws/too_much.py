"""A sum over everything aboard that goes beyond its limit."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Thing
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("too-much", Severity.ERROR, "What somebody or something carries goes beyond its limit.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: holder, prop, limit (a measure), total (base units), thing (the last one), decl (of the limit), text, and
    flow, step (None: so written)."""
    facts = problem.facts
    holder, prop, limit, thing = facts["holder"], facts["prop"], facts["limit"], facts["thing"]
    step = facts.get("step")
    story = Story.of(plan, facts)
    total = naming.like(facts["total"], limit)
    weights: dict[Thing, Fraction] = {}
    for one in plan.world.things:
        weight = story.state.value(one, prop)
        if isinstance(weight, Fraction) and one is not holder and _aboard(story, one, holder, thing):
            weights[one] = weight
    heavy = sorted(weights, key=lambda one: (-weights[one], one.index))
    listing = naming.listed(f"{the(one)} {naming.like(weights[one], limit)}" for one in heavy[:5])
    if len(heavy) > 5:
        listing += f", and {len(heavy) - 5} more"
    if step is not None:
        message = f"{acting(step)}, and then {the(holder)} carries {total} of {prop}; {limit.text} is the most."
        variables = [v for one in heavy[:5] for v in story.own(one)]
        events = story.history(step, variables, f"fails: {total} where {limit.text} go", lately=True)
    else:
        message = f"{the(holder)} is written to carry {total} of {prop}; {limit.text} is the most."
        events = ()
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(thing)} is too much",
        labels=[*story.labels(thing, holder, at=problem.at), Label(facts["decl"], f"{prop} up to {limit.text}")],
        events=events,
        because=f"it adds up, at any depth: {listing}",
    )


def _aboard(story: Story, thing: Thing, holder: Thing, last: Thing) -> bool:
    """Whether a thing is carried by the holder, once the last one is."""
    return thing.sort != "location" and any(node in (holder, last) for node, _ in story.state.chain(thing))
