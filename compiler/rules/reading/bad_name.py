"""A word that is spelled like no name."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("bad-name", Severity.ERROR, "A name is spelled in a way that names are not.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (as written), suggestion (the name it should be, or an empty text)."""
    name, suggestion = problem.facts["name"], problem.facts["suggestion"]
    fixes = (Fix(f"call it {suggestion}", (Edit(problem.at, suggestion),)),) if suggestion else ()
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{name} cannot be a name.",
        problem.at,
        because="a name has lower-case letters, digits and hyphens, a letter first, and is no word of the language",
        help=fixes or (Fix("choose another name"),),
    )
