"""An allowance, or a level in the settings, for what nobody can wave through."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule(
    "cannot-be-allowed", Severity.ERROR, "What keeps a plan from being checked is allowed, or made less than it is."
)

_BECAUSE = {
    "reading": "a text that cannot be read is not followed, and what is not followed is not clean",
    "names": "a plan with a name or a value that is wrong is not followed, and what is not followed is not clean",
    "policy": "it is about what is allowed, and would hide that something is hidden",
    "undecided": "it says that the analysis does not know, and nobody knows better for its being hidden",
    "family": "its errors keep a plan from being followed; a rule of it that only warns can be named by itself",
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: rule, why (reading, names, policy, undecided, family), setting (whether it stands in the settings)."""
    facts = problem.facts
    name, why = facts["rule"], facts["why"]
    message = f"Findings of {name} cannot be {'made less than they are' if facts['setting'] else 'allowed'}."
    if why == "undecided":
        fixes = (Fix("allow it in the plan, at the line it is about; there a reader of the plan sees it"),)
    else:
        fixes = (Fix("take the line out, and repair what it is about"),)
    return Diagnostic(
        RULE.name, RULE.severity, message, problem.at, note="does not count", because=_BECAUSE[why], help=fixes
    )
