"""What is made again soon enough by the nominal times, and not on some other day."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _lasting

RULE = Rule(
    "may-not-be-renewed", Severity.WARNING, "On a day that the durations allow, something is made again too late."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: as of `not-renewed`; seconds are those of a day on which it is too late."""
    facts = problem.facts
    return finding(
        RULE,
        f"It may be that no step makes it so that {naming.clause(facts['goal'], facts['binding'])} for "
        f"{_lasting.length(facts['seconds'])}: the rule “{facts['rule'].title}” wants that every "
        f"{facts['limit'].text}.",
        problem.at,
        note="may be renewed too late",
        labels=_lasting.labels(facts, problem.at, "counted from here", "to here"),
        events=_lasting.events(facts, "counted from here", "to here"),
        because=f"{_lasting.since(facts)}; some steps between take longer than is likely on such a day",
        fixes=["let a step in between make it so again, or bring the two nearer together"],
    )
