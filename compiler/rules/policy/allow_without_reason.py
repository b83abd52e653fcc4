"""An allowance that does not say why."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("allow-without-reason", Severity.ERROR, "An `allow` does not say why.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: rule (the rule it allows), setting (whether it stands in the settings)."""
    name = problem.facts["rule"]
    setting = problem.facts.get("setting", False)
    under, equals = ("under it: ", "= ") if setting else (f"after it: allow {name} ", "")
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"{name} is allowed here without a reason.",
        problem.at,
        note="why?",
        because="whoever reviews the plan has to be able to agree or disagree",
        help=(Fix(f'write the reason {under}because {equals}"…"'),),
    )
