"""A name beyond the limit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("name-too-long", Severity.ERROR, "A name is longer than the compiler reads.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (its beginning), length, cap (in characters)."""
    name, length, cap = problem.facts["name"], problem.facts["length"], problem.facts["cap"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"The name {name}... has {length} characters; {cap} is the most.",
        problem.at,
        because="names are printed on checklists and in diagrams, and a longer one fits nowhere",
        help=(Fix("shorten the name, and give the long form as a quoted title"),),
    )
