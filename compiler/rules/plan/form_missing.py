"""A sheet that an excursion needs and does not fill."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("form-missing", Severity.ERROR, "An excursion needs a form and does not fill it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: form, excursion, actor (the first of the crew for whom it is needed)."""
    form, excursion, actor = (problem.facts[name] for name in ("form", "excursion", "actor"))
    asked = [heading.name for heading in form.headings.values() if heading.asks]
    under = f", with {naming.listed([f'`{name}`' for name in asked])} under it" if asked else ""
    return finding(
        RULE,
        f"{excursion.name} has {naming.the(actor)} in its crew and does not fill the form “{form.title}”.",
        problem.at,
        note="no form",
        labels=[Label(form.decl, f"needed for each {form.kind.name}")],
        because=f"there is no line `fills {form.name}` under the excursion",
        fixes=(f"write `fills {form.name}` under the excursion{under}",),
    )
