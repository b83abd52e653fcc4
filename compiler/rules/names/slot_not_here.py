"""A slot gets its kind where it cannot."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("slot-not-here", Severity.ERROR, "A slot gets its kind where it cannot.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the slot)."""
    name = problem.facts["name"]
    return finding(
        RULE,
        problem,
        f"{name} gets a kind here, and is not a slot of this line.",
        "a new slot",
        "only in a rule a slot begins inside a clause; an action or a routine names its slots in its first line",
        help=(Fix(f"name {name} in the first line, with its kind, and write {name} alone here"),),
    )
