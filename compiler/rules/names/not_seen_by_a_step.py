"""A spread that goes by what one step cannot see."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding
from jackstay.rules.records import Rule

RULE = Rule("not-seen-by-a-step", Severity.ERROR, "A spread goes by what a single step does not see.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: text (the literal as written), spread (its name)."""
    return finding(
        RULE,
        problem,
        f"The spread {problem.facts['spread']} goes by `{problem.facts['text']}`, which no single step makes true.",
        "not in a `when`",
        "what spreads is worked out step by step, from the things a step touches: reach, sight, ways and whole kinds "
        "are no touch",
        (),
        (Fix("say it with slots, and with `on`, `in`, `at`, `is` or `working on`"),),
    )
