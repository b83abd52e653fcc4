"""Everything aboard of something, spoken of elsewhere than in an effect."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("only-made", Severity.ERROR, "Everything on something is spoken of elsewhere than in an effect.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (the literal as written)."""
    return finding(
        RULE,
        problem,
        f"`{problem.facts['text']}` can be made true, and not be asked for.",
        "only after `makes` of an action",
        "who hangs on what is looked at when a step ends; no variable says it for a whole kind",
        (),
        (Fix("name the things, or write a rule with a slot: `never PROP of X: KIND is V while X on Y: KIND`"),),
    )
