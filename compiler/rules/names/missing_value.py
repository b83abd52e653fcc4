"""A thing does not say the value of a property, and its kind has none to lend."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label
from jackstay.rules.records import Rule

RULE = Rule(
    "missing-value", Severity.ERROR, "A thing does not say the value of a property, and its kind has none to lend."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the thing), prop, kind, decl (the property's place), written (a count given without its total)."""
    name, prop, kind = problem.facts["name"], problem.facts["prop"], problem.facts["kind"]
    if problem.facts.get("written"):
        count = problem.facts["written"]
        return finding(
            RULE,
            problem,
            f"Nothing says of how many {prop} of {name} this is {count}.",
            "of how many?",
            "at the end of each excursion all of them are asked for",
            label(problem.facts["decl"], "normally all"),
            (Fix(f"write `{prop} {count} of`, and how many there are"),),
        )
    return finding(
        RULE,
        problem,
        f"Nothing says the {prop} of {name}.",
        f"{prop} not given",
        f"{with_article(kind)} has no usual {prop}",
        label(problem.facts["decl"], f"every {kind} has one"),
        (Fix(f"write `{prop}` with its value on this line, or `usually` with one in the kind"),),
    )
