"""A line that belongs under something else."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Problem, Severity
from jackstay.rules.records import Rule

RULE = Rule("misplaced-line", Severity.ERROR, "A line is right, but not in this place.")


def _a(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: form (what the line is), belongs_under (what it may stand under, in words)."""
    form, under = problem.facts["form"], problem.facts["belongs_under"]
    spots = ["at the left edge" if one == "top" else f"under {_a(one)}" for one in under]
    where = spots[0] if len(spots) == 1 else f"{', '.join(spots[:-1])} or {spots[-1]}"
    return Diagnostic(
        RULE.name,
        RULE.severity,
        f"A line of the form {form} cannot stand here.",
        problem.at,
        note="not here",
        because=f"it stands {where}",
        help=(Fix("move it, or indent it as what it belongs to"),),
    )
