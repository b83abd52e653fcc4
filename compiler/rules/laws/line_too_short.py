"""A line whose ends would be further apart than it is long."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("line-too-short", Severity.ERROR, "A line would have to span more than its length.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: line, length, apart (both in base units), first and second (locations), text, and flow, step (None: so
    written)."""
    facts = problem.facts
    line, first, second, step = (facts.get(k) for k in ("line", "first", "second", "step"))
    assert line is not None
    story = Story.of(plan, facts)
    unit = naming.a_length(plan.world)
    length, apart = naming.like(facts["length"], unit), naming.like(facts["apart"], unit)
    ends = [story.state.values[v] for v in (line.from_var, line.to_var) if v >= 0]
    variables = [*story.own(line), *(v for end in ends if end is not None for v in story.whole_way(end))]
    if step is not None:
        message = (
            f"{acting(step)}, but {the(line)} is {length} long, and {the(first)} and {the(second)} are {apart} apart."
        )
        events = story.history(step, variables, f"fails: {apart} on {length} of {line.name}", lately=True)
    else:
        message = f"{the(line)} is {length} long, but is written from {the(first)} to {the(second)}, {apart} apart."
        events = ()
    hung = naming.listed(
        f"its `{end}` end is on {the(on)}" for end, on in zip(("from", "to"), ends, strict=False) if on
    )
    return finding(
        RULE,
        message,
        problem.at,
        note=f"{the(line)} is {length} long",
        labels=story.labels(line, *(end for end in ends if end is not None), at=problem.at),
        events=events,
        because=f"measured along the paths, it lacks {naming.like(facts['apart'] - facts['length'], unit)}; {hung}",
    )
