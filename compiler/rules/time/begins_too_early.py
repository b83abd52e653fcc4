"""An excursion that begins while another is on that it starts from."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._lasting import length

RULE = Rule("begins-too-early", Severity.ERROR, "An excursion begins before the one that it starts from is over.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: excursion, previous (the last excursion before it that is dated), between (seconds that this one, and
    those after it, take at least), early (seconds before the end of that)."""
    facts = problem.facts
    name, previous = facts["excursion"].name, facts["previous"]
    takes = f"and takes {length(facts['between'])}" if facts["between"] else "and is not over then"
    return finding(
        RULE,
        f"{name.capitalize()} begins {length(facts['early'])} before {previous.name} can be over.",
        problem.at,
        note="too early",
        labels=[Label(previous.begins.at, f"{previous.name} begins here, {takes}")],
        because=f"{name} starts from the state in which {previous.name} ends",
        fixes=["let it begin later, or the one before it sooner"],
    )
