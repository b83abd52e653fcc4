"""A need about a whole kind that some timing breaks."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, event, finding

RULE = Rule("need-may-fail", Severity.ERROR, "A step may come at a moment when what it needs of a kind does not hold.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (the need), stays (of what may come between)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    stays = problem.facts.get("stays") or []
    between = [s for stay in stays for s in (stay.start, stay.end) if s is not None and s is not step]
    between = sorted({s.index: s for s in between}.values(), key=lambda s: s.index)
    wish = naming.clause(test, step.binding)
    makers = [acting(stay.start) for stay in stays if stay.start is not None and stay.start is not step]
    by = f": {naming.listed(makers[:2])} at a time that nothing orders" if makers else ""
    told = sorted([*between, step], key=lambda s: s.index)
    events = []
    for n, one in enumerate(told, 1):
        changed = {change.var for change in one.changes}
        leaves = "may find that it does not hold" if one is step else story.leaves(one, changed)
        events.append(event(n, one, leaves))
    return finding(
        RULE,
        f"{acting(step)}, which needs that {wish}; that may not hold then{by}.",
        problem.at,
        note="may come at a moment when this does not hold",
        labels=[
            *(Label(s.entry.at, f"{acting(s)}: nothing says when") for s in between),
            Label(test.at, "what it needs"),
        ],
        events=events,
        because="no wait, no task and nobody's list keeps these steps apart",
    )
