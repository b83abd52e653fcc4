"""An action is not for those who are to do it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import finding, label, listed
from jackstay.rules.records import Rule

RULE = Rule("wrong-cast", Severity.ERROR, "An action is not for those who are to do it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: action (its pattern), decl, who (titles), kinds (theirs), heading (its place), wanted (in words)."""
    facts = problem.facts
    who, kinds = facts["who"], facts["kinds"]
    are = listed(f"{one} is {with_article(kind)}" for one, kind in zip(who, kinds, strict=True))
    return finding(
        RULE,
        problem,
        f"“{facts['action']}” is not for {listed(who)}.",
        f"done by {facts['wanted']}",
        are,
        (*label(facts["heading"], "who does it"), *label(facts["decl"], "the action")),
        (Fix("change the heading, or choose a step that they can do"),),
    )
