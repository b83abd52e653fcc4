"""An `if` answers what cannot come of its step."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Edit, Fix, Problem, Severity
from jackstay.diagnostics.suggest import nearest
from jackstay.rules.names._words import finding, label, listed, written
from jackstay.rules.records import Rule

RULE = Rule("unknown-outcome", Severity.ERROR, "An `if` answers what cannot come of its step.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: outcome, known (the outcomes there are), action (its pattern), decl."""
    outcome, known = problem.facts["outcome"], problem.facts["known"]
    pointed = written(plan, problem.at) == outcome
    fixes = tuple(
        Fix(f"write {other}", (Edit(problem.at, other),) if pointed else ())
        for other in (nearest(outcome, known) or known[:2])
    )
    if outcome == "outside":
        because = "without `expect` there is no range to be outside of"
        fixes = (Fix("say what is expected: `expect LOW to HIGH`, after the step's words"),)
    elif known:
        because = f"what can come of it: {listed(known, 'or')}"
    else:
        because = "the action names nothing else that may come of it"
    return finding(
        RULE,
        problem,
        f"“{outcome}” cannot come of “{problem.facts['action']}”.",
        "not one of its outcomes",
        because,
        label(problem.facts["decl"], "the action"),
        fixes,
    )
