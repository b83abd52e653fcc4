"""A reading that is to be taken as good although its action says that it is not."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("expects-too-wide", Severity.ERROR, "A reading is taken as good beyond the range of its action.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: entry (the step with `expect`), widest (the range of its action)."""
    entry, widest = problem.facts["entry"], problem.facts["widest"]
    who = naming.who(entry.binding)
    words = naming.does(naming.entry_words(entry), entry.binding)
    origin = entry.action.expects_origin
    source = f" ({origin.text})" if origin is not None and origin.text else ""
    return finding(
        RULE,
        f"{who} {words}, expecting {entry.expect.text}: its action allows {widest.text}{source}.",
        problem.at,
        note="wider than allowed",
        labels=[Label(widest.at, f"{widest.text} at the most")],
        because="a plan may ask for a narrower range than its action does, not for a wider one",
        fixes=(f"expect {widest.text}, or less; without `expect` the range of the action counts",),
    )
