"""A state of affairs that comes again sooner than a rule allows."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _again, _lasting

RULE = Rule("too-soon-again", Severity.ERROR, "Something is so again sooner than a rule allows.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule, tests (what holds), binding, since (the step by which it is so again; None: the start), until
    (the one by which it was over), over_flow (where that was), seconds (between them), limit."""
    facts = problem.facts
    return finding(
        RULE,
        f"{_lasting.holding(facts)} again after {_lasting.length(facts['seconds'])}: the rule “{facts['rule'].title}” "
        f"asks for {facts['limit'].text} between.",
        problem.at,
        note=f"{_lasting.length(facts['limit'].value - facts['seconds'])} too soon",
        labels=_again.labels(facts, problem.at),
        events=_again.events(facts),
        because=_again.between(facts),
        fixes=["let more time pass between the two, or have somebody else do it"],
    )
