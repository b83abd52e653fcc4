"""The words of an action or routine cannot be told apart from its slots."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("bad-pattern", Severity.ERROR, "The words of an action or routine cannot be told apart from its slots.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the slot or word), first (place of the earlier slot), leads (whether it comes first)."""
    name, leads = problem.facts["name"], problem.facts["leads"]
    if not leads:
        return finding(
            RULE,
            problem,
            f"The slot {name} stands twice in one pattern.",
            "again",
            "a step fills each slot once",
            label(problem.facts["first"], "stands here already"),
            (Fix("give one of the two another name"),),
        )
    return finding(
        RULE,
        problem,
        f"The pattern begins with {name}.",
        "no verb before it",
        "a step is found by its first word, a word of its own",
        help=(Fix("begin with a verb"),),
    )
