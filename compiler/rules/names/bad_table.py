"""A table has no rows, or two for one number."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("bad-table", Severity.ERROR, "A table has no rows, or two for one number.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the table), key (of the second row; empty when there are none), first (the earlier row)."""
    name, key, first = problem.facts["name"], problem.facts["key"], problem.facts["first"]
    if not key:
        return finding(
            RULE,
            problem,
            f"The table {name} has no rows.",
            "nothing under it",
            "nothing can be looked up in it",
            help=(Fix("write its rows under it, as `NUMBER : NUMBER`"),),
        )
    return finding(
        RULE,
        problem,
        f"The table {name} has two rows for {key}.",
        "again",
        "only one of them can be meant",
        label(first, "the first row"),
        (Fix("take one of the two rows out"),),
    )
