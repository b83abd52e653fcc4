"""Modules that use one another in a ring."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("use-cycle", Severity.ERROR, "Modules use one another in a ring.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: circle (a list of module and the place of its `use`, from one module round to itself)."""
    circle = problem.facts["circle"]
    names = [name for name, _ in circle]
    if len(names) == 1:
        message = f"{names[0]} uses itself."
    else:
        message = f"These modules use one another in a ring: {', '.join(names)}, and {names[0]} again."
    return Diagnostic(
        RULE.name,
        RULE.severity,
        message,
        problem.at,
        note="closes the ring",
        labels=tuple(Label(at, f"{name} uses the next") for name, at in circle if at != problem.at),
        because="none of them can be read before the others",
        help=(Fix("move what they share into a module of its own, which each of them uses"),),
    )
