"""A property is named that its thing does not have."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import capital, finding, label, suggested
from jackstay.rules.records import Rule

RULE = Rule("unknown-property", Severity.ERROR, "A property is named that its thing does not have.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name, kind (empty: of no kind at all), decl (the kind's place), candidates."""
    name, kind = problem.facts["name"], problem.facts["kind"]
    labels, fixes = suggested(problem, name, problem.facts["candidates"])
    if not kind:
        return finding(
            RULE,
            problem,
            f"Nothing that is known here has a {name}.",
            "no such property",
            "there is nothing to add up",
            labels,
            fixes,
        )
    if not labels:
        labels = label(problem.facts["decl"], f"the kind {kind}")
    return finding(
        RULE,
        problem,
        f"{capital(with_article(kind))} has no {name}.",
        "no such property",
        "neither the kind nor one that it is made from declares it",
        labels,
        fixes,
    )
