"""A step stands under no heading."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label, written
from jackstay.rules.records import Rule

RULE = Rule("step-without-actor", Severity.ERROR, "A step stands under no heading.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (the action's pattern), decl."""
    return finding(
        RULE,
        problem,
        f"Nobody is said to “{written(plan, problem.at)}”.",
        "by whom, and where?",
        "the line stands under no heading",
        label(problem.facts["decl"], "the action"),
        (Fix("write a heading above it, and indent it"),),
    )
