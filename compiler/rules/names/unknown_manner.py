"""Something is held in a manner that its holder does not have."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.model.words import with_article
from jackstay.rules.names._words import capital, finding, label, listed
from jackstay.rules.records import Rule

RULE = Rule("unknown-manner", Severity.ERROR, "Something is held in a manner that its holder does not have.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the manner), kind (of the holder), known (its manners), decl (the kind's place)."""
    name, kind, known = problem.facts["name"], problem.facts["kind"], problem.facts["known"]
    fixes = tuple(Fix(f"write {other}", (Edit(problem.at, other),)) for other in nearest(name, known))
    has = f"{with_article(kind)} holds by {listed(known)}" if known else f"{with_article(kind)} holds nothing"
    return finding(
        RULE,
        problem,
        f"{capital(with_article(kind))} holds nothing by {name}.",
        "not one of its manners",
        has,
        label(problem.facts.get("decl"), f"the kind {kind}"),
        fixes,
    )
