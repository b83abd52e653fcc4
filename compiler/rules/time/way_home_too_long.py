"""A moment from which somebody can no longer be back inside in time."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import clock, length
from jackstay.rules.time._home import going_home
from jackstay.timing.home import place_of
from jackstay.timing.home_records import Moment

RULE = Rule(
    "way-home-too-long",
    Severity.ERROR,
    "At some moment of the nominal plan the way home takes longer than what is left.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, times, actor, since (the first such moment, in seconds from the excursion's start),
    worst (a `timing.home_records.Moment`: the one with the least margin)."""
    facts = problem.facts
    worst: Moment = facts["worst"]
    actor, excursion = naming.the(facts["actor"]), facts["excursion"]
    need, left = Fraction(worst.need), Fraction(worst.left)
    has = f"has {length(left)}" if left > 0 else "has nothing"
    of = f"of {excursion.limit.text}" if worst.by is None else f"of {worst.by.name} ({worst.by.amount.text})"
    side = "just before" if worst.late else "at"
    when = clock(Fraction(worst.t))
    return finding(
        RULE,
        f"From {clock(Fraction(facts['since']))} on {actor} cannot be back inside in time; {side} {when} {actor} needs "
        f"{length(need)} and {has} left.",
        problem.at,
        note="from here on" if worst.t != facts["since"] else "here",
        labels=[
            Label(place_of(facts["flow"], facts["actor"], facts["times"], worst.t), f"shortest of time at {when}"),
            *([Label(worst.by.decl, f"{worst.by.name}: {worst.by.amount.text}")] if worst.by is not None else []),
        ],
        events=going_home(plan, worst, place_of(facts["flow"], facts["actor"], facts["times"], worst.t)),
        because=f"if everybody turned back at {when}, this is what {actor} would have to do, and {has} left {of}",
        fixes=[f"bring {actor} home earlier, or nearer to a way in before {clock(Fraction(facts['since']))}"],
    )
