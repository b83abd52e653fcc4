"""A module that is nowhere."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.rules.records import Rule

RULE = Rule("unknown-module", Severity.ERROR, "A `use` names a module that does not exist.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (as written), known (names of the modules there are)."""
    name, known = problem.facts["name"], problem.facts["known"]
    near = nearest(name, known)
    pointed = problem.at.end - problem.at.start == len(name)
    fixes = tuple(Fix(f"use {other}", (Edit(problem.at, other),) if pointed else ()) for other in near)
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"There is no module called {name}.",
        problem.at,
        note="not found",
        because=f"neither {name}.stay in the campaign's folder nor a shipped vocabulary has that name",
        help=fixes or (Fix("write the file, or take the line out"),),
    )
