"""A limit of which nobody says from when it counts."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding

RULE = Rule("limit-without-clock", Severity.WARNING, "An excursion has a limit, but does not say whose clock shows it.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: excursion."""
    excursion = problem.facts["excursion"]
    return finding(
        RULE,
        f"The limit of {excursion.limit.text} counts from the first step to the last: {excursion.name} names no clock.",
        problem.at,
        note="no clock named",
        because="a clock may start when air is let out, or when suits go on their own power: the two are minutes apart",
        fixes=["name it: `clock from WORDS`, with `starts on` and `ends on` where it does not run all the time"],
    )
