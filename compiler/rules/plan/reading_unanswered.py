"""A reading that may be outside what is expected, and nothing says what then."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule(
    "reading-unanswered",
    Severity.WARNING,
    "A reading has an expected range, and the plan does not say what happens outside it.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: entry (the step with `expect`)."""
    entry = problem.facts["entry"]
    who = naming.who(entry.binding)
    words = naming.does(naming.entry_words(entry), entry.binding)
    return finding(
        RULE,
        f"{who} {words}, expecting {entry.expect.text}, and the plan does not say what happens outside that.",
        problem.at,
        note="what if it is outside?",
        labels=[Label(entry.expect.at, "what is expected")],
        because="there is no `if outside` under this step",
        fixes=("answer it under the step: `if outside: fallback NAME`, or `if outside: go on`",),
    )
