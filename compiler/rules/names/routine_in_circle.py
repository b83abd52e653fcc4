"""A routine calls itself."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("routine-in-circle", Severity.ERROR, "A routine calls itself.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: circle (patterns, each calls the next), decl (the routine)."""
    circle = problem.facts["circle"]
    by_way = f", by way of “{circle[-2]}”" if len(circle) > 2 else ""
    return finding(
        RULE,
        problem,
        f"“{circle[-1]}” calls itself{by_way}.",
        "calls it again",
        "its steps would never end",
        label(problem.facts["decl"], "the routine"),
        (Fix("write the steps out that are to be done again"),),
    )
