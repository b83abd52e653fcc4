"""An entry of a baseline that no finding answers to any more."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("outdated-baseline", Severity.NOTE, "An entry of the baseline is of a finding that no longer occurs.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: rule, path (of the file the finding was in), left (how many of its findings are gone), was (how many it
    names)."""
    facts = problem.facts
    left, was = facts["left"], facts["was"]
    if was == 1:
        message = f"The {facts['rule']} that the baseline knows in {facts['path']} is gone."
    else:
        message = f"Of {was} findings of {facts['rule']} that the baseline knows in {facts['path']}, {left} are gone."
    return Diagnostic(
        RULE.name,
        RULE.severity,
        message,
        problem.at,
        note="nothing answers to it",
        because="it has been repaired, or what it is about has another name now",
        help=(Fix("write the baseline anew with --write-baseline, so that it cannot come back unseen"),),
    )
