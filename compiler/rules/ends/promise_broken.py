"""An excursion that does not end as the next one was promised."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, finding

RULE = Rule("promise-broken", Severity.ERROR, "An excursion does not end as its contract promises the next one.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, var (what is otherwise), said (as promised), real (as it ends)."""
    facts = problem.facts
    excursion, var = facts["excursion"], facts["var"]
    story = Story(plan, facts["flow"])
    steps = story.past([var.id])
    said, real = naming.value_text(var, facts["said"]), naming.value_text(var, facts["real"])
    return finding(
        RULE,
        f"{excursion.name} ends with {naming.variable(var)}: {real}, and promises the next excursion {said}.",
        problem.at,
        note="promised otherwise",
        labels=[
            *(Label(s.entry.at, f"{acting(s)} here") for s in steps[-1:]),
            *story.labels(var.thing, at=problem.at),
        ],
        events=story.tell(steps, [var.id]),
        because=f"no `done when` and no `left so` of {excursion.name} says that {the(var.thing)} is left like that",
    )
