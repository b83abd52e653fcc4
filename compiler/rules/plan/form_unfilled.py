"""A heading of a form under which nothing stands."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("form-unfilled", Severity.ERROR, "Nothing stands under a heading of a form.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: form, heading, excursion, blank (whether a text is there in which nothing can be read)."""
    form, heading, excursion, blank = (problem.facts[name] for name in ("form", "heading", "excursion", "blank"))
    source = f" ({heading.origin.text})" if heading.origin is not None and heading.origin.text else ""
    because = (
        "the text there is blank"
        if blank
        else "the form asks the plan to say it"
        if heading.asks
        else "nothing that this excursion does or has answers what the heading lists"
    )
    return finding(
        RULE,
        f"Nothing stands under “{heading.title}” of the form “{form.title}” of {excursion.name}.",
        problem.at,
        note=f"{heading.name} is empty",
        labels=[Label(heading.decl, f"this heading{source}")],
        because=because,
        fixes=(f'write it {"here" if blank else "under this line"}: `{heading.name} "…"`',),
    )
