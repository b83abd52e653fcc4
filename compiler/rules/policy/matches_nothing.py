"""A pattern of paths in the settings that fits no file of the project."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("matches-nothing", Severity.WARNING, "A pattern of paths in `jackstay.toml` fits no plan of the project.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: glob (the pattern), near (paths of the project that have a name like its last part, a few)."""
    near = problem.facts["near"]
    told = f"there is {near[0]}" if near else "patterns are read from the folder that jackstay.toml is in"
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f'No plan of this project fits "{problem.facts["glob"]}".',
        problem.at,
        note="fits nothing",
        because="the files have been moved or renamed, or the pattern has a slip in it",
        help=(Fix(f"write the pattern for where they are now, or take it out; {told}"),),
    )
