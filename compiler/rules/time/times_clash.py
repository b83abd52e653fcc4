"""Bounds of time that can each be kept, but not all together."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding
from jackstay.rules.time._chain import length
from jackstay.rules.waits import said
from jackstay.timing.deadlines import mark_at

RULE = Rule("times-clash", Severity.ERROR, "Bounds of time that can each be kept cannot be kept together.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: clash (a smallest set of maxima), graph (its scale)."""
    facts = problem.facts
    clash, graph = facts["clash"], facts["graph"]
    events: list[Event] = []
    labels: list[Label] = []
    for one, parts, between in zip(clash.maxima, clash.chains, clash.lengths, strict=True):
        mark, step = mark_at(graph, one), graph.flow.steps[one.step]
        labels.append(Label(one.bound.at, f"at most {length(one.bound.value)} from {said(mark)}"))
        doer = the(step.cast[0]) if step.cast else "Somebody"
        what = naming.joined(naming.words_of(step))
        text = f"is to be through with “{what}” within {length(one.bound.value)} of {said(mark)}"
        longest = max(parts, key=lambda part: part.until - part.since) if parts else None
        left = (
            f"{length(between)} in the last attempt" if between > one.bound.value else "kept only as the other is not"
        )
        if longest is not None:
            left += f", most of it while {acting(longest.step)}"
        events.append(Event(len(events) + 1, doer, text, left, one.bound.at))
    number = {2: "two", 3: "three", 4: "four"}.get(len(clash.maxima), str(len(clash.maxima)))
    return finding(
        RULE,
        f"These {number} bounds cannot all be kept in any schedule of {facts['excursion'].name}.",
        problem.at,
        note="one of them",
        labels=labels,
        events=events,
        because="what keeps one of them moves the others apart; with any one left out, the rest can be kept",
    )
