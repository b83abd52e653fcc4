"""A reading outside of its action's limits after which the plan goes on."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule(
    "goes-on-outside-limits", Severity.ERROR, "The plan goes on after a reading outside of the limits of its action."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: entry (the step that reads), answer (the `if` that goes on; None: nothing answers it)."""
    entry, answer = problem.facts["entry"], problem.facts["answer"]
    limits, origin = entry.action.expects, entry.action.expects_origin
    source = f" ({origin.text})" if origin is not None and origin.text else ""
    who = naming.who(entry.binding)
    words = naming.does(naming.entry_words(entry), entry.binding)
    then = "the plan goes on" if answer is not None else "the plan does not say what happens then"
    rest = "and this step counts as done" if entry.action.effects else "as if the reading were good"
    return finding(
        RULE,
        f"{who} {words}, and where the reading is outside of {entry.expect.text}, {then}.",
        problem.at,
        note="goes on after a bad reading" if answer is not None else "what if it is outside?",
        labels=[Label(limits.at, f"the limits of the action: {limits.text}{source}")],
        because=f"limits that an action sets are not the plan's to waive: the plan goes on {rest}",
        fixes=("answer it with a fallback: `if outside: fallback NAME`",),
    )
