"""A kind gets two properties of one name from its parents."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("property-from-two-parents", Severity.ERROR, "A kind gets two properties of one name from its parents.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the property), kind, first, second (places)."""
    name, kind = problem.facts["name"], problem.facts["kind"]
    return finding(
        RULE,
        problem,
        f"{kind} gets a {name} from each of two parents.",
        "from both",
        f"the {name} of {with_article(kind)} could be either",
        (*label(problem.facts["first"], "the one"), *label(problem.facts["second"], "the other")),
        (Fix("rename one of the two, or move the property to a kind that both are"),),
    )
