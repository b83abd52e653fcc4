"""More on a holder than it holds."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("holder-full", Severity.ERROR, "Something is put where there is no room left.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: holder, manner, limit, total, things (all that it would hold), thing (the last one), decl (of the limit),
    counting (the property that weighs each), text, and flow, step (None: so written)."""
    facts = problem.facts
    holder, manner, things, thing = facts["holder"], facts["manner"], facts["things"], facts["thing"]
    step, counting = facts.get("step"), facts["counting"]
    story = Story.of(plan, facts)
    limit, total = naming.number(facts["limit"]), naming.number(facts["total"])
    others = [one for one in things if one is not thing]
    unit = f" {counting}" if counting else ""
    already = naming.listed(the(one) for one in others[:5]) or "nothing"
    if len(others) > 5:
        already += f" and {len(others) - 5} more"
    held = f"{the(holder)} holds {already} by {manner} already"
    if step is not None:
        message = f"{acting(step)}, but {held}."
        variables = [v for one in things for v in story.own(one)]
        events = story.history(step, variables, f"fails: {total}{unit} where {limit} go", lately=True)
    else:
        message = f"{the(holder)} is written to hold {naming.listed(the(one) for one in things)} by {manner}: too many."
        events = ()
    return finding(
        RULE,
        message,
        problem.at,
        note=f"no room left for {the(thing)}",
        labels=[
            *story.labels(thing, holder, at=problem.at),
            Label(facts["decl"], f"at most {limit}{unit} by {manner}"),
        ],
        events=events,
        because=f"that makes {total}{unit} by {manner}, and {limit} is the most"
        if counting is None
        else f"that makes {total} counting {counting}, and {limit} is the most by {manner}",
        fixes=(f"put one of {naming.listed(the(one) for one in others[:5])} elsewhere first",)
        if step is not None and len(others) > 1
        else (),
    )
