"""A path leads nowhere, or is shorter than nothing."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("bad-path", Severity.ERROR, "A path leads nowhere, or is shorter than nothing.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: a, b (the names of its ends)."""
    a, b = problem.facts["a"], problem.facts["b"]
    if a == b:
        return finding(
            RULE,
            problem,
            f"A path leads from {a} back to {a}.",
            "the same place again",
            "nobody who goes along it gets anywhere",
            help=(Fix("name its other end"),),
        )
    return finding(
        RULE,
        problem,
        f"The path from {a} to {b} has less than no length.",
        "below nothing",
        "every way over it would grow shorter",
        help=(Fix("write its length without the minus"),),
    )
