"""A need about a whole kind that some timing breaks."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.flow.stays import Stay
from jackstay.rules import luck, naming
from jackstay.rules.order._mending import mend_by
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, event, finding

RULE = Rule("need-may-fail", Severity.ERROR, "A step may come at a moment when what it needs of a kind does not hold.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, step, test (what must not be meanwhile), thing (that it may be so of), stays (of that)."""
    flow, step, test = problem.facts["flow"], problem.facts["step"], problem.facts["test"]
    story = Story(plan, flow, step.index)
    stays = problem.facts["stays"]
    between = [s for stay in stays for s in (stay.start, stay.end) if s is not None and s is not step]
    between = sorted({s.index: s for s in between}.values(), key=lambda s: s.index)
    against = naming.clause(test, (problem.facts["thing"],))
    makers = [acting(stay.start) for stay in stays if stay.start is not None]
    by = f": {naming.listed(makers[:2])} at a time that nothing orders" if makers else ""
    told = sorted([*between, step], key=lambda s: s.index)
    events = []
    for n, one in enumerate(told, 1):
        changed = {change.var for change in one.changes}
        leaves = f"may find that {against}" if one is step else story.leaves(one, changed)
        events.append(event(n, one, leaves))
    return finding(
        RULE,
        f"{acting(step)}, but it may be that {against} then{by}.",
        problem.at,
        note="may come at a moment when this does not hold",
        labels=[
            *(Label(s.entry.at, f"{acting(s)}: nothing says when") for s in between),
            Label(test.at, "this is what it needs"),
        ],
        events=events,
        because=luck.joined(
            "no wait, no task and nobody's list keeps these steps apart",
            luck.of_stays(plan, flow, [*stays, Stay(step, step)]),
        ),
        fixes=mend_by(plan, problem.facts, "keep these steps apart in every timing"),
    )
