"""An allowance for a rule that does not exist."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule(
    "unknown-rule", Severity.ERROR, "An `allow`, or a line of `jackstay.toml`, names a rule that does not exist."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: rule (the name as written), near (rules with a name close to it, nearest first), setting (whether it
    stands in the settings)."""
    name, near = problem.facts["rule"], problem.facts["near"]
    setting = problem.facts.get("setting", False)
    pointed = problem.at.end - problem.at.start == len(name)
    verb = "write" if setting else "allow"
    fixes = tuple(Fix(f"{verb} {other}", (Edit(problem.at, other),) if pointed else ()) for other in near)
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"There is no rule called {name}.",
        problem.at,
        note="no such rule",
        because=f"{'what is set' if setting else 'an allowance'} for it would change nothing, now or later",
        help=fixes or (Fix("`jackstay explain` lists the rules by name"),),
    )
