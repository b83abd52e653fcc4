"""A thing on a holder that does not take its kind."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Hold, Thing
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("does-not-fit", Severity.ERROR, "Something is put where things of its kind do not go.")


def _takes(hold: Hold) -> str:
    kind = naming.a_kind(hold.kind.name) if hold.kind is not None else "anything"
    return f"{kind} by {hold.manner}"


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: thing, holder, manner (None: by no manner at all), and flow, step (None: so written)."""
    facts = problem.facts
    thing: Thing = facts["thing"]
    holder: Thing = facts["holder"]
    step, manner = facts.get("step"), facts.get("manner")
    story = Story.of(plan, facts)
    kind, of = naming.a_kind(thing.kind.name), naming.a_kind(holder.kind.name)
    holds = holder.kind.holds
    by = f" by {manner}" if any(hold.manner == manner for hold in holds) else ""
    takes = naming.listed(dict.fromkeys(_takes(hold) for hold in holds)) if holds else "nothing at all"
    if step is not None:
        message = f"{acting(step)}, but {the(holder)} does not hold {kind}{by}."
        events = story.history(step, story.own(thing), f"fails: {thing.name} does not fit")
    else:
        message = f"{the(thing)} is written on {the(holder)}, which does not hold {kind}{by}."
        events = ()
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(thing)} is {kind}",
        labels=[
            *story.labels(thing, holder, at=problem.at),
            *(Label(hold.decl, f"{of} holds {_takes(hold)}") for hold in holds[:2]),
        ],
        events=events,
        because=f"{of} holds {takes}",
    )
