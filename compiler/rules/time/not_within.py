"""Two moments that cannot come as close to each other as a `within` says."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import added_up, length, of_step
from jackstay.rules.waits import said
from jackstay.timing.deadlines import mark_at

RULE = Rule("not-within", Severity.ERROR, "A `within` cannot be kept: what lies between takes longer.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: clash (with one maximum), graph (its scale)."""
    facts = problem.facts
    clash, graph = facts["clash"], facts["graph"]
    one, parts, between = clash.maxima[0], clash.chains[0], clash.lengths[0]
    mark, step = mark_at(graph, one), graph.flow.steps[one.step]
    allowed = length(one.bound.value)
    before = one.target >> 1 != one.step  # the call is what comes too late
    message = (
        f"{said(mark)} is called at least {length(between)} after {of_step(step)} is over, not within {allowed}."
        if before
        else f"{of_step(step)} is over at least {length(between)} after {said(mark)}, not within {allowed}."
    )
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{length(between)} at least",
        labels=[Label(mark.at, f"{said(mark)} is called here"), Label(step.entry.at, "this step")],
        events=added_up(parts, origin=parts[-1].until - between) if parts else (),
        because="each of these begins as soon as the one before it lets it, and no schedule makes them shorter",
    )
