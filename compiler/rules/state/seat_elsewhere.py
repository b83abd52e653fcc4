"""A heading's seat that is not at the heading's place."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding, in_routine

RULE = Rule(
    "seat-elsewhere", Severity.ERROR, "A heading seats somebody in something that is not at the heading's place."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, entry, actor, seat, place, seat_place, step_before (steps before this)."""
    facts = problem.facts
    actor, seat, place, entry = facts["actor"], facts["seat"], facts["place"], facts["entry"]
    story = Story.of(plan, facts)
    variables = story.whole_way(seat)
    past = story.past(variables)
    where = story.whereabouts(seat)
    words = naming.joined(naming.arrival(entry))
    last = Event(0, naming.proper(actor), f"is to {words}", f"fails: {seat.name} is {where}", entry.at)
    labels = [Label(past[-1].entry.at, f"{acting(past[-1])} here")] if past else []
    return finding(
        RULE,
        f"{the(actor)} is to {words}, but {the(seat)} is {where}.",
        problem.at,
        note=f"{the(seat)} is {where}",
        labels=[*labels, *in_routine(entry), *story.labels(seat, place, at=problem.at)],
        events=story.tell(past, variables, last),
        because=f"no step {'after that' if past else 'before this'} brings {the(seat)} within reach of {the(place)}",
    )
