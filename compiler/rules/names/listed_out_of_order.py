"""A campaign lists an excursion before the one that it starts from."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule(
    "listed-out-of-order", Severity.WARNING, "A campaign lists an excursion before the one that it starts from."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, previous (excursions), first (where the previous one is listed), starts_at (what `starts` says)."""
    facts = problem.facts
    name, previous = facts["name"], facts["previous"]
    return finding(
        RULE,
        problem,
        f"{name} is listed before {previous}, and starts from it.",
        "listed too early",
        f"{previous} is flown first all the same",
        (*label(facts["first"], f"{previous} comes only here"), *label(facts["starts_at"], f"{name} starts from it")),
        (Fix(f"list {previous} before {name}"),),
    )
