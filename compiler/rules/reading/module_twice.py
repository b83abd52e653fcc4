"""A campaign's file with the name of a shipped vocabulary."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("module-twice", Severity.ERROR, "A file beside the plan has the name of a shipped vocabulary.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: name (the module)."""
    name = problem.facts["name"]
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{name} is both a file of this campaign and a vocabulary that comes with Jackstay.",
        problem.at,
        note="which of the two?",
        because="one name would stand for two modules, here and in whatever uses the vocabulary",
        help=(Fix(f"rename {name}.stay"),),
    )
