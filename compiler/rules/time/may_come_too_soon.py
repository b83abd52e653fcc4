"""A state of affairs that comes again soon enough by the nominal times to be right, and not on some other day."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _again, _lasting

RULE = Rule("may-come-too-soon", Severity.WARNING, "On a day that the durations allow, something is so again too soon.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: as of `too-soon-again`; seconds are those of a day on which it is too soon."""
    facts = problem.facts
    return finding(
        RULE,
        f"It may be that {_lasting.holding(facts)} again after {_lasting.length(facts['seconds'])}: the rule "
        f"“{facts['rule'].title}” asks for {facts['limit'].text} between.",
        problem.at,
        note="may come too soon",
        labels=_again.labels(facts, problem.at),
        events=_again.events(facts),
        because=f"{_again.between(facts)}; the first may be over later, and the second come earlier, than is likely",
        fixes=["leave more time to spare between the two"],
    )
