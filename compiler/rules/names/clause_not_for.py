"""A line or a clause is for things of another sort."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule("clause-not-for", Severity.ERROR, "A line or a clause is for things of another sort.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: clause (its words), sort (what it is for), name (of the thing or kind), decl (its place)."""
    clause, sort, name = problem.facts["clause"], problem.facts["sort"], problem.facts["name"]
    help_ = f"take it out, or declare {name} as {with_article(sort)}"
    if clause == "at" and sort == "actor":
        help_ = "write `on` or `in`, and what holds it"
    return finding(
        RULE,
        problem,
        f"{name} is no {sort}, and only {with_article(sort)} has `{clause}`.",
        f"only for {with_article(sort)}",
        f"nothing in the plan would ever ask it of {name}",
        label(problem.facts.get("decl"), "declared here"),
        (Fix(help_),),
    )
