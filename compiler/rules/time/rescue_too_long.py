"""A moment at which nobody can bring in a partner soon enough."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import clock, length
from jackstay.rules.time._home import fetching
from jackstay.timing.home import place_of
from jackstay.timing.home_rescue import Shortfall

RULE = Rule(
    "rescue-too-long",
    Severity.WARNING,
    "At some moment of the nominal plan nobody could bring in somebody outside within the time set for it.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, times, shortfall (a `timing.home_rescue.Shortfall`)."""
    facts = problem.facts
    one: Shortfall = facts["shortfall"]
    partner = naming.the(one.partner)
    assert one.rescue.within is not None
    since, within = clock(Fraction(one.since)), one.rescue.within.text
    label = Label(one.rescue.decl, f"within {within}")
    if one.fetch is None or one.need is None:
        return finding(
            RULE,
            f"From {since} on nobody could bring in {partner}.",
            problem.at,
            note=f"{partner} is outside, and nobody else can get there",
            labels=[label],
            because=f"a partner is to be inside within {within}, and nobody else who can do that has a way there "
            "and home",
            fixes=[
                f"let somebody who can bring {partner} in stay where they can set out until {partner} is inside, or "
                f"bring {partner} in before {since}"
            ],
        )
    at = place_of(facts["flow"], one.fetch.rescuer, facts["times"], one.worst)
    return finding(
        RULE,
        f"From {since} on nobody could bring in {partner} within {within}; at {clock(Fraction(one.worst))} it would "
        f"take {naming.the(one.fetch.rescuer)} {length(Fraction(one.need))}.",
        problem.at,
        note=f"{partner} is out of reach of a quick rescue",
        labels=[label, Label(at, f"what {naming.the(one.fetch.rescuer)} is doing at the worst moment")],
        events=fetching(plan, one.fetch, one.partner, one.worst, at),
        because=f"{naming.the(one.fetch.rescuer)} makes safe, goes to {partner}, and brings them home at "
        f"{one.fetch.rescue.pace.text}",
        fixes=[
            f"let {naming.the(one.fetch.rescuer)} be nearer, or at something that can stop sooner, "
            f"while {partner} is out there"
        ],
    )
