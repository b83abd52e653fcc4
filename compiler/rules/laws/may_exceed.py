"""A counted limit that some timing breaks."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import Admit, Carry
from jackstay.rules import luck, naming
from jackstay.rules.naming import the
from jackstay.rules.order._mending import mend_by
from jackstay.rules.records import Rule
from jackstay.rules.story import Story, acting, event, finding

RULE = Rule("may-exceed", Severity.ERROR, "More may be at one place, or on one holder, than there is room for.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, holder, bound (a hold, a sum or an admission), limit, total, stays (that can meet)."""
    facts = problem.facts
    holder, bound, stays = facts["holder"], facts["bound"], facts["stays"]
    story = Story(plan, facts["flow"], 0)
    limit, total = naming.number(facts["limit"]), naming.number(facts["total"])
    if isinstance(bound, Carry):
        limit, total = bound.limit.text, naming.like(facts["total"], bound.limit)
    things = [stay.thing for stay in stays]
    makers = sorted({s.start.index: s.start for s in stays if s.start is not None}.values(), key=lambda s: s.index)
    variables = {v for thing in things for v in story.own(thing)}
    events = [event(n, step, story.leaves(step, variables)) for n, step in enumerate(makers, 1)]
    if isinstance(bound, Admit):
        where, room = f"at {the(holder)} at once", f"there is room for {limit}"
    elif isinstance(bound, Carry):
        where, room = f"aboard {the(holder)} at once", f"together {total} of {bound.prop}, and {limit} is the most"
    else:
        where, room = f"on {the(holder)} by {bound.manner} at once", f"{limit} is the most"
    ends = [stay.end for stay in stays if stay.end is not None and stay.end.entry.at != problem.at]
    return finding(
        RULE,
        f"{naming.listed(the(thing) for thing in dict.fromkeys(things))} may be {where}; {room}.",
        problem.at,
        note="may come while the others are still there",
        labels=[
            *(Label(step.entry.at, f"{acting(step)}") for step in makers),
            *(Label(step.entry.at, f"{acting(step)}: nothing says that this comes first") for step in ends),
            Label(bound.decl, f"at most {limit}"),
        ],
        events=events,
        because=luck.joined(
            f"no order keeps these {total} apart: each may come before the others have gone",
            luck.of_stays(plan, facts["flow"], stays),
        ),
        fixes=mend_by(plan, facts, "keep it within its limit in every timing"),
    )
