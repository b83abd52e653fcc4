"""What a rule wants made again every so often, and is not by the nominal times."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time import _lasting

RULE = Rule("not-renewed", Severity.ERROR, "What a rule wants made again every so often is not.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, rule, goal (what is to be made again), tests (the condition), binding, since (a step: the last
    renewal, or by which the condition begins; None: the excursion's start), until (the next renewal, or by which the
    condition ends; None: the excursion's end), since_flow, since_step, seconds, at_least, limit."""
    facts = problem.facts
    return finding(
        RULE,
        f"No step makes it so that {naming.clause(facts['goal'], facts['binding'])} for {_lasting.whole(facts)}: "
        f"the rule “{facts['rule'].title}” wants that every {facts['limit'].text}.",
        problem.at,
        note=f"{_lasting.length(facts['seconds'] - facts['limit'].value)} too long",
        labels=_lasting.labels(facts, problem.at, "counted from here", "to here"),
        events=_lasting.events(facts, "counted from here", "to here"),
        because=_lasting.since(facts),
        fixes=["let a step in between make it so again"],
    )
