"""Two steps that touch one thing, in an order that nothing says."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import MOST, Story, acting, event, finding
from jackstay.rules.waits import wait_for

RULE = Rule("may-come-first", Severity.ERROR, "Two steps touch one thing, and nothing says which comes first.")


def _touches(step: Step, variables: set[int]) -> bool:
    return any(c.var in variables for c in step.changes) or any(var in variables for var in step.reads)


def _before(flow: ExcursionFlow, first: Step, second: Step, variables: set[int]) -> list[Step]:
    """What the two casts did with these variables up to here."""
    cast = {*first.cast, *second.cast}
    last = max(first.index, second.index)
    return [
        step
        for step in flow.steps[:last]
        if step is not first
        and step is not second
        and cast.intersection(step.cast)
        and any(c.var in variables for c in step.changes)
    ]


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, first and second (steps), vars (the variables that both touch)."""
    facts = problem.facts
    flow, first, second = facts["flow"], facts["first"], facts["second"]
    names = plan.world.variables
    variables = list(dict.fromkeys(facts["vars"]))
    wanted = set(variables)
    story = Story(plan, flow, min(first.index, second.index))
    matters = naming.listed([naming.matter(names[v]) for v in variables][:3])
    changes = [naming.who(s.binding) for s in (first, second) if any(c.var in wanted for c in s.changes)]
    told = sorted([*_before(flow, first, second, wanted)[-(MOST - 2) :], first, second], key=lambda s: s.index)
    events = [event(n, step, story.leaves(step, wanted)) for n, step in enumerate(told, 1)]
    one, two = naming.who(first.binding), naming.does(naming.words_of(first), first.binding)
    verbs = naming.does(naming.words_of(second), second.binding)
    how = "both steps change it" if len(changes) == 2 else f"{changes[0] if changes else one} changes it"
    return finding(
        RULE,
        f"Nothing says whether {naming.who(second.binding)} {verbs} before or after {one} {two}.",
        problem.at,
        note="may come first, or second",
        labels=[Label(first.entry.at, f"{acting(first)}: may come first, or second")],
        events=events,
        because=f"both turn on {matters}; {how}, and no wait, no task and nobody's list puts one after the other",
        fixes=(wait_for(plan, flow, first, second),),
    )
