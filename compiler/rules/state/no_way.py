"""A place that cannot be reached from where somebody is."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding, in_routine

RULE = Rule(
    "no-way", Severity.ERROR, "No path, and no action, brings somebody to where a heading or a step sends them."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, entry, actor, place, start (where the actor is; None: nowhere), step_before. The entry is a heading,
    or a step that itself says where its doer is then."""
    facts = problem.facts
    actor, place, start, entry = facts["actor"], facts["place"], facts["start"], facts["entry"]
    story = Story.of(plan, facts)
    past = story.past((actor.place_var,))
    here = story.where(actor)
    if start is None:
        because = f"nothing says where {the(actor)} is at the start"
    elif actor.reaches and place not in actor.reaches:
        because = f"{the(actor)} reaches only {naming.listed(the(p) for p in actor.reaches)}"
    elif entry.action is None and (actor.reaches or _joined(plan, start, place)):
        of = naming.listed((naming.a_kind(one.kind.name) for one in naming.doers(entry.binding)), "helped by")
        because = f"no action by {of} says `serves actor at P` for such a place"
    elif entry.action is not None and _joined(plan, start, place):
        because = f"each chain of paths from {the(start)} to {the(place)} leads home in between"
    else:
        because = f"no chain of paths joins {the(start)} and {the(place)}"
    words = naming.joined(naming.entry_words(entry))
    last = Event(0, naming.who(entry.binding), f"is to {words}", f"fails: {naming.proper(actor)} is {here}", entry.at)
    labels = [Label(past[-1].entry.at, f"{acting(past[-1])} here")] if past else []
    return finding(
        RULE,
        f"{the(actor)} is to be at {the(place)}, but is {here}, and there is no way.",
        problem.at,
        note=f"{the(actor)} is {here}",
        labels=[*labels, *in_routine(entry), *story.labels(actor, place, at=problem.at)],
        events=story.tell(past, (actor.place_var,), last),
        because=because,
    )


def _joined(plan: Any, start: Any, place: Any) -> bool:
    """Whether a chain of paths leads from one location to another."""
    seen = {start, *start.near}
    todo = list(seen)
    for at in todo:
        for path in plan.world.paths:
            for one, other in ((path.a, path.b), (path.b, path.a)):
                if one is at and other not in seen:
                    seen.add(other)
                    todo.append(other)
    return place in seen or any(near in seen for near in place.near)
