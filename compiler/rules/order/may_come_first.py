"""Two steps that touch one thing, in an order that nothing says."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Fix, Label, Problem, Severity
from jackstay.flow.records import ExcursionFlow
from jackstay.rules import luck, naming
from jackstay.rules.order._failing import failing_order
from jackstay.rules.order._mending import mend_all
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding
from jackstay.rules.waits import wait_for

RULE = Rule("may-come-first", Severity.ERROR, "Two steps touch one thing, and nothing says which comes first.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, first and second (steps), vars (the variables that both touch)."""
    facts = problem.facts
    flow, first, second = facts["flow"], facts["first"], facts["second"]
    names = plan.world.variables
    variables = list(dict.fromkeys(facts["vars"]))
    wanted = set(variables)
    matters = naming.listed([naming.matter(names[v]) for v in variables][:3])
    changes = [naming.who(s.binding) for s in (first, second) if any(c.var in wanted for c in s.changes)]
    one, two = naming.who(first.binding), naming.does(naming.words_of(first), first.binding)
    verbs = naming.does(naming.words_of(second), second.binding)
    how = "both steps change it" if len(changes) == 2 else f"{changes[0] if changes else one} changes it"
    return finding(
        RULE,
        f"Nothing says whether {naming.who(second.binding)} {verbs} before or after {one} {two}.",
        problem.at,
        note="may come first, or second",
        labels=[Label(first.entry.at, f"{acting(first)}: may come first, or second")],
        events=failing_order(plan, flow, first, second, variables),
        because=luck.joined(
            f"both turn on {matters}; {how}, and no wait, no task and nobody's list puts one after the other",
            luck.of_steps(plan, flow, first, second),
        ),
        fixes=_each_once(wait_for(plan, flow, first, second), _all_at_once(problem, plan, flow)),
    )


def _each_once(wait: Fix, all_at_once: tuple[Fix, ...]) -> tuple[Fix, ...]:
    """An edit that mends this pair may mend all others as well: then it is one repair, and says so."""
    for fix in all_at_once:
        if fix.edits and fix.edits == wait.edits:
            return (Fix(f"{wait.text}: {fix.text}", wait.edits),)
    return (wait, *all_at_once)


def _all_at_once(problem: Problem, plan: Any, flow: ExcursionFlow) -> tuple[Fix, ...]:
    """At the first such finding of an excursion: what mends all of them together."""
    if plan.flow is None or not any(one is flow for one in plan.flow.excursions):
        return ()
    for one in flow.problems:
        if one is not problem and one.rule == RULE.name and _place(one) < _place(problem):
            return ()
    same = [one for one in flow.problems if one.rule == RULE.name and _place(one) == _place(problem)]
    if not same or same[0] is not problem:
        return ()
    fix = mend_all(plan, flow)
    return (fix,) if fix is not None else ()


def _place(problem: Problem) -> tuple[str, int, int]:
    return (problem.at.path, problem.at.line, problem.at.start)
