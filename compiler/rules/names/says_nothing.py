"""A line says nothing, for want of what belongs to it."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.model.words import with_article
from jackstay.rules.names._words import capital, finding
from jackstay.rules.records import Rule

RULE = Rule("says-nothing", Severity.ERROR, "A line says nothing, for want of what belongs to it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: line (what it is), lacks (in words)."""
    line, lacks = with_article(problem.facts["line"]), problem.facts["lacks"]
    return finding(
        RULE,
        problem,
        f"{capital(line)} stands here without {lacks}.",
        "says nothing so",
        f"{line} needs {lacks}",
        help=(Fix(f"write {lacks}, or take this line out"),),
    )
