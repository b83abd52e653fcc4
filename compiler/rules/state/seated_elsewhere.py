"""Somebody who sits in what no action gets them out of by itself."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule(
    "seated-elsewhere", Severity.ERROR, "A heading sends somebody away who is still seated, and nothing gets them out."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, entry, actor, seat (where the actor still is), step_before."""
    actor, seat, entry = problem.facts["actor"], problem.facts["seat"], problem.facts["entry"]
    story = Story.of(plan, problem.facts)
    past = story.past((actor.place_var,))
    words = naming.joined(naming.arrival(entry))
    last = Event(
        0, naming.proper(actor), f"is to {words}", f"fails: {naming.proper(actor)} is in {seat.name}", entry.at
    )
    labels = [Label(past[-1].entry.at, f"{acting(past[-1])} here")] if past else []
    return finding(
        RULE,
        f"{the(actor)} is to {words}, but is still {story.where(actor)}.",
        problem.at,
        note=f"{the(actor)} is {story.where(actor)}",
        labels=[*labels, *story.labels(seat, at=problem.at)],
        events=story.tell(past, (actor.place_var,), last),
        because=f"no action gets out of {naming.a_kind(seat.kind.name)} on the way; it has to be written",
        fixes=(f"write the step that gets {the(actor)} out of {the(seat)} before this heading",),
    )
