"""A seat that no action gets this actor into."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, finding, in_routine

RULE = Rule("cannot-sit", Severity.ERROR, "No action brings this actor into the seat that a heading names.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, entry, actor, seat, step_before."""
    actor, seat = problem.facts["actor"], problem.facts["seat"]
    story = Story.of(plan, problem.facts)
    kind, of = naming.a_kind(seat.kind.name), naming.a_kind(actor.kind.name)
    return finding(
        RULE,
        f"{the(actor)} cannot get into {the(seat)}: no action serves that.",
        problem.at,
        note=kind,
        labels=[*in_routine(problem.facts["entry"]), *story.labels(actor, seat, at=problem.at)],
        because=f"no action by {of} says `serves actor in X` for {kind}, so a heading cannot bring it about",
        fixes=("write the step that gets in as a line of its own, and leave the seat out of the heading",),
    )
