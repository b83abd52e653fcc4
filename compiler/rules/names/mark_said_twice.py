"""A mark is said a second time."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("mark-said-twice", Severity.ERROR, "A mark is said a second time.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, other (the mark said first), first (its place)."""
    name, other = problem.facts["name"], problem.facts["other"]
    if name != other:
        return finding(
            RULE,
            problem,
            f"One step says two marks, {other} and {name}.",
            "a second one",
            "the end of a step is one moment",
            label(problem.facts["first"], "the first"),
            (Fix(f"wait for {other} everywhere, and take this one out"),),
        )
    return finding(
        RULE,
        problem,
        f"The mark {name} is said twice in one task.",
        "again",
        "a wait for it could mean either end",
        label(problem.facts["first"], "said here already"),
        (Fix("give one of the two another name"),),
    )
