"""A module used twice in one file."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("used-twice", Severity.WARNING, "A module is used twice in one file.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the module), first (the place of the earlier `use`)."""
    name, first = problem.facts["name"], problem.facts["first"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{name} is used a second time.",
        problem.at,
        note="again",
        labels=(Label(first, "used here already"),),
        because="the first line has brought all of its names",
        help=(Fix("take one of the two lines out"),),
    )
