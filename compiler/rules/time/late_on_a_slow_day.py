"""A deadline that is kept only if nature is kind."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import event, finding
from jackstay.rules.time._chain import added_up, clock, length, of_step, spread
from jackstay.rules.waits import said

RULE = Rule(
    "late-on-a-slow-day",
    Severity.WARNING,
    "A deadline is kept by the nominal times, and missed when uncertain steps take their longest.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: bound (None: the limit), late (seconds, at worst), zero (when what it counts from is), chain (at the
    longest durations; empty where nature breaks it by being quick as well as slow), spread: (step, seconds that it may
    take longer than usual), the fewest that make it late; taking: (step, seconds) of what nature does instead; dropped:
    the droppable tasks that do not help."""
    facts = problem.facts
    excursion, bound, steps = facts["excursion"], facts["bound"], facts["spread"]
    dropped = naming.listed(task.name for task in facts["dropped"])
    without = f", even without {dropped}" if dropped else ""
    late = length(facts["late"])
    if bound is None:
        message, note = f"{excursion.name} passes its limit of {excursion.limit.text}", "this limit, reserve and all"
    elif bound.mark is not None:
        what = of_step(facts["step"]) if facts["step"] is not None else "a step"
        message = f"{what} and {said(bound.mark)} are further apart than {length(bound.value)}"
        note = f"within {length(bound.value)}"
    else:
        message, note = f"“by {clock(bound.value)}” is missed", f"by {clock(bound.value)}"
    if facts["chain"]:
        many = f"these {len(steps)} uncertain steps take" if len(steps) != 1 else "this one uncertain step takes"
        more = sum(seconds for _, seconds in steps)
        events = added_up(facts["chain"])
        in_all = " in all" if len(steps) != 1 else ""
        because = f"it is late when {many} {length(more)} longer than usual{in_all}, which nobody can choose"
        if bound is None and facts["zero"]:
            because += f"; the clock starts at {clock(facts['zero'])}"
    else:
        events = tuple(
            event(n, step, f"takes {length(seconds)}, say") for n, (step, seconds) in enumerate(facts["taking"], 1)
        )
        because = (
            "how long these take is seen only when they are over, and no way of waiting keeps the bound in every case"
        )
    return finding(
        RULE,
        f"On a slow day {message} by up to {late}{without}.",
        problem.at,
        note=note,
        labels=spread(steps[:4], problem.at),
        events=events,
        because=because,
        fixes=["plan more time for it, or make a task on this chain one that may be dropped"] if facts["chain"] else [],
    )
