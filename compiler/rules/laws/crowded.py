"""More people at a location than it admits."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("crowded", Severity.ERROR, "More are at a place than there is room for.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: place, limit, actors (all there), actor (the last one), decl (of the limit), text, flow, step (None: so
    written)."""
    facts = problem.facts
    place, actors, step = facts["place"], facts["actors"], facts.get("step")
    actor = facts.get("actor") or facts.get("thing")
    story = Story.of(plan, facts)
    limit = naming.number(facts["limit"])
    others = [one for one in actors if one is not actor]
    there = naming.listed(the(one) for one in others)
    still = [one for one in others if not story.past((one.place_var,), 1)]
    is_are = "are" if len(others) > 1 else "is"
    if step is not None:
        message = f"{acting(step)}, but {there} {is_are} there already, and there is room for {limit}."
        variables = [one.place_var for one in actors]
        events = story.history(step, variables, f"fails: no room at {place.name}", lately=True)
    else:
        message = (
            f"{naming.listed(the(one) for one in actors)} are written at {the(place)}, where there is room for {limit}."
        )
        events = ()
    return finding(
        RULE,
        message,
        problem.at,
        note=f"room for {limit} at {the(place)}",
        labels=[*story.labels(place, *still, at=problem.at), Label(facts["decl"], f"at most {limit} at such a place")],
        events=events,
        because=f"no step before this takes {naming.listed((the(one) for one in others), 'or')} away from {the(place)}"
        if step is not None
        else f"that is {len(actors)}",
    )
