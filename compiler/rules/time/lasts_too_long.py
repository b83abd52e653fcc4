"""A state of affairs that a rule allows for so long, and that lasts for longer by the nominal times."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _lasting

RULE = Rule("lasts-too-long", Severity.ERROR, "Something lasts longer than a rule allows.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule, tests (what holds), binding, since (a step; None: from the excursion's start), until (None: to
    its end), since_flow and since_step (where it began, in an earlier excursion too), seconds, at_least, limit."""
    facts = problem.facts
    return finding(
        RULE,
        f"{_lasting.holding(facts)} for {_lasting.whole(facts)}: the rule “{facts['rule'].title}” allows "
        f"{facts['limit'].text}.",
        problem.at,
        note=f"{_lasting.length(facts['seconds'] - facts['limit'].value)} too long",
        labels=_lasting.labels(facts, problem.at, "it begins here", "only here it is over"),
        events=_lasting.events(facts, "begins", "over"),
        because=_lasting.since(facts),
        fixes=["bring the end of it nearer to its beginning, or do less in between"],
    )
