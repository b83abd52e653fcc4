"""A module outside the campaign's folder."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("path-escapes", Severity.ERROR, "A `use` leads out of the campaign's folder.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the module as written)."""
    name = problem.facts["name"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{name} is not inside the campaign's folder.",
        problem.at,
        note="leads outside",
        because="a campaign's folder holds all of it, so that whoever gets the folder gets the plan",
        help=(Fix("move or copy the file into the campaign's folder and use it from there"),),
    )
