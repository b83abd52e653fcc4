"""An item or an actor that the files put nowhere."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("placed-nowhere", Severity.ERROR, "An item or an actor is declared without saying where it is.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: thing."""
    thing = problem.facts["thing"]
    actor = thing.sort == "actor"
    ends = ", or `from X to Y` for its two ends" if thing.from_var >= 0 else ""
    return finding(
        RULE,
        f"Nothing says where {the(thing)} is at the start.",
        problem.at,
        note="where is it?",
        because="somebody is at some place at every moment, from the first"
        if actor
        else "an item hangs on something at every moment, from the first",
        fixes=("say `at X` after its kind" if actor else f"say `on X` or `in X`{ends} after its kind",),
    )
