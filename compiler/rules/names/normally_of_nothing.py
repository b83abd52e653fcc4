"""`normally` follows no property."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("normally-of-nothing", Severity.WARNING, "`normally` follows no property.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: nothing."""
    return finding(
        RULE,
        problem,
        "`normally` says what is normal, and not of what.",
        "of what?",
        "it belongs to the property named just before it",
        help=(Fix("write the property and its value before it"),),
    )
