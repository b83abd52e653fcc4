"""A kind is of two sorts at once."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label, listed
from jackstay.rules.records import Rule

RULE = Rule("two-sorts", Severity.ERROR, "A kind is of two sorts at once.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, sorts (at most three words), parents (name, sort, place)."""
    name, sorts = problem.facts["name"], problem.facts["sorts"]
    labels = tuple(
        one for parent, sort, at in problem.facts["parents"] for one in label(at, f"{parent} is {with_article(sort)}")
    )
    return finding(
        RULE,
        problem,
        f"{name} would be {listed(with_article(sort) for sort in sorts)} at once.",
        "two sorts",
        "a thing acts, is handled, or is a place: one of the three",
        labels,
        (Fix("take one of the parents out"),),
    )
