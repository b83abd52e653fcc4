"""A contract that does not say where something is left."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule

RULE = Rule("promise-incomplete", Severity.ERROR, "A contract names a thing and does not say where it is left.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, thing."""
    thing, excursion = problem.facts["thing"], problem.facts["excursion"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{excursion.name} promises the next excursion {the(thing)}, and not where it is.",
        problem.at,
        note="but where?",
        labels=(Label(thing.decl, f"{the(thing)}, as declared"),),
        because="the next excursion starts from the promise alone, and no `done when` says where this is left",
        help=(Fix(f"say it in the task that leaves it: `done when {thing.name} on …`"),),
    )
