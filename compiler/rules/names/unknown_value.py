"""A property cannot have the value that is given."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.rules.names._words import capital, finding, label, listed, written
from jackstay.rules.records import Rule

RULE = Rule("unknown-value", Severity.ERROR, "A property cannot have the value that is given.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: value (or empty), of (the property, or what has it), allowed, several (properties that fit), decl."""
    facts = problem.facts
    value, of = facts["value"] or written(plan, problem.at), facts["of"]
    if len(facts["several"]) > 1:
        return finding(
            RULE,
            problem,
            f"“{value}” could be the {listed(facts['several'], 'or the ')} of {of}.",
            "of which property?",
            "more than one property has that value",
            label(facts["decl"], "the kind"),
            tuple(Fix(f"write `{prop} of …` before it") for prop in facts["several"][:2]),
        )
    fixes = tuple(Fix(f"write {other}", (Edit(problem.at, other),)) for other in nearest(value, facts["allowed"]))
    what = f"{capital(of)} is never “{value}”."
    allowed = (
        f"it is {listed(facts['allowed'], 'or')}" if facts["allowed"] else f"{of} has no property with words for values"
    )
    return finding(RULE, problem, what, "not one of its values", allowed, label(facts["decl"], "declared here"), fixes)
