"""A line that some timing would stretch beyond its length."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.model.records import Thing
from jackstay.rules import luck, naming
from jackstay.rules.naming import the
from jackstay.rules.order._mending import mend_by
from jackstay.rules.records import Rule
from jackstay.rules.standing import _facts
from jackstay.rules.story import Story, acting, finding

RULE = Rule("line-may-be-too-short", Severity.ERROR, "Some timing of the plan stretches a line beyond its length.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, line, length, apart (both in base units), first and second (what it hangs on, and where that is),
    variables and stays (values on the two ways that nothing keeps apart), mend (pairs of steps: if the second of each
    waits for the first, it holds)."""
    facts = problem.facts
    line, stays = facts["line"], facts["stays"]
    story = Story(plan, facts["flow"], 0)
    unit = naming.a_length(plan.world)
    length, apart = naming.like(facts["length"], unit), naming.like(facts["apart"], unit)
    names = plan.world.variables
    texts = [
        f"{naming.variable(names[var])}: {naming.value_text(names[var], stay.thing)}"
        for var, stay in zip(facts["variables"], stays, strict=True)
    ]
    late, early = luck.unordered(stays)
    if early is not None:
        because = f"nothing says that {naming.listed(map(acting, late), 'or')} before {acting(early)}"
    else:
        because = f"while the one step runs, what it changes counts as before and as after; {the(line)} lacks " + (
            naming.like(facts["apart"] - facts["length"], unit)
        )
    return finding(
        RULE,
        f"{the(line)} is {length} long, but may hang from {_point(facts['first'])} to {_point(facts['second'])}, "
        f"{apart} apart.",
        problem.at,
        note="may come while the other end is still far away",
        labels=[*_facts.edges(stays, texts, problem.at), *story.labels(line, at=problem.at)],
        events=_facts.events(story, stays, texts),
        because=luck.joined(because, luck.of_stays(plan, facts["flow"], stays)),
        fixes=mend_by(plan, facts, "keep it within its length in every timing"),
    )


def _point(one: tuple[Thing, Thing]) -> str:
    """``the mast``, ``Mara at the mast``"""
    on, where = one
    return the(on) if on is where else f"{the(on)} at {the(where)}"
