"""Steps that wait for one another in a circle."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.model.records import Entry, Thing
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.waits import said

RULE = Rule("circular-wait", Severity.ERROR, "Steps wait for one another, and none of them can ever begin.")


def _words(entry: Entry) -> str:
    if entry.action is None and not entry.hole:
        return naming.joined(naming.arrival(entry))
    return naming.joined(naming.entry_words(entry))


def _why(edge: Any, before: Entry) -> tuple[str, str]:
    """(why one entry waits for another, that which could be changed)"""
    actor: Thing | None = edge.actor
    if edge.why == "own":
        return f"it stands earlier in {naming.owner(actor) if actor else 'the same'} list", "own"
    if edge.why == "wait" and edge.mark is not None:
        return f"it waits on {said(edge.mark)}", "wait"
    if edge.why == "task":
        return f"its task comes after the task {before.task.name}", "task"
    if edge.why == "within":
        return "that runs beside it and ends first", "within"
    call = said(edge.mark) if edge.mark is not None else "another step"
    return f"it runs beside the step that calls {call}, which comes after that", "beside"


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: circle, a list of (entry, edge, the entry that it waits for)."""
    circle = problem.facts["circle"]
    events, labels = [], []
    for n, (entry, edge, before) in enumerate(circle, 1):
        why, sort = _why(edge, before)
        other = naming.who(before.binding)
        text = f"cannot {_words(entry)} before {other} can {_words(before)}"
        if before is entry:
            text = f"cannot {_words(entry)} before having done so"
        each = tuple(naming.the(one) for one in naming.doers(entry.binding))
        left = f"{why} ({plan.line(before.at)})"
        events.append(Event(n, naming.who(entry.binding), text, left, entry.at, each))
        if sort != "own":
            labels.append(Label(entry.at, why))
    people = list(dict.fromkeys(naming.who(entry.binding) for entry, _, _ in circle))
    if len(people) > 1:
        message = f"{naming.listed(people)} wait for one another: none of these steps can ever begin."
    else:
        message = f"{people[0]} waits for a step that can only come later: it can never begin."
    return finding(
        RULE,
        message,
        problem.at,
        note=next((label.text for label in labels if label.at == problem.at), "waits for the end of its own circle"),
        labels=labels,
        events=events,
        because="each step of the circle needs the one before it to be over, all the way round",
        fixes=("take one of the waits out, or move one of the steps in its actor's list",),
    )
