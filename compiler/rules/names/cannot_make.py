"""An effect asks for what no single act can bring about."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("cannot-make", Severity.ERROR, "An effect asks for what no single act can bring about.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (the clause as written)."""
    text = problem.facts["text"]
    return finding(
        RULE,
        problem,
        f"Nobody can make “{text}” true just so.",
        "not a thing to make",
        "what can be made is: one named thing on, in or at another, or off it, or one property at a value",
        help=(Fix("say what is moved or changed, one thing at a time"),),
    )
