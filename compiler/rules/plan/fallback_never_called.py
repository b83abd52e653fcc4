"""A fallback that nothing calls."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("fallback-never-called", Severity.WARNING, "No step calls this fallback, and it starts from no mark.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: fallback, excursion."""
    name = problem.facts["fallback"].name
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"Nothing ever calls the fallback {name}.",
        problem.at,
        note="called nowhere",
        because=f"no step says `fallback {name}` under an `if`, and the fallback names no mark that it starts from",
        help=(Fix(f"answer an outcome with `if …: fallback {name}`, or write `fallback {name}, from MARK`"),),
    )
