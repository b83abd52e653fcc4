"""An outcome that an action may have, and that the plan has no answer to."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("outcome-unanswered", Severity.WARNING, "A step may go another way, and the plan does not say what then.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: entry (the step), outcome (in the action's words)."""
    entry, outcome = problem.facts["entry"], problem.facts["outcome"]
    who = naming.who(entry.binding)
    words = naming.does(naming.entry_words(entry), entry.binding)
    return finding(
        RULE,
        f"{who} {words}, and the plan does not say what happens if {outcome}.",
        problem.at,
        note=f"what if {outcome}?",
        labels=[Label(entry.action.decl, f"this action may go another way: {outcome}")],
        because=f"there is no `if {outcome}` under this step",
        fixes=(f"answer it under the step: `if {outcome}: fallback NAME`, or `if {outcome}: go on`",),
    )
