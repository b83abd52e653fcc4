"""A state of affairs that keeps to its length by the nominal times, and not on some other day."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _lasting

RULE = Rule("may-last-too-long", Severity.WARNING, "On a day that the durations allow, something lasts too long.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: as of `lasts-too-long`; seconds are those of a day on which it is too long."""
    facts = problem.facts
    return finding(
        RULE,
        f"It may be that {_lasting.holding(facts)} for {_lasting.length(facts['seconds'])}: the rule "
        f"“{facts['rule'].title}” allows {facts['limit'].text}.",
        problem.at,
        note="may last too long from here on",
        labels=_lasting.labels(facts, problem.at, "it begins here", "only here it is over"),
        events=_lasting.events(facts, "begins", "over"),
        because=f"{_lasting.since(facts)}; some steps between take longer than is likely on such a day",
        fixes=["leave more time to spare: bring the end of it nearer to its beginning, or do less in between"],
    )
