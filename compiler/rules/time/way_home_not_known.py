"""A way home whose time nobody has stated."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import clock
from jackstay.timing.home_records import Stuck

RULE = Rule(
    "way-home-not-known",
    Severity.UNDECIDED,
    "How long the way home takes is not known, because an action on it has no duration.",
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, times, actor, since and until (seconds from the excursion's start), stuck (a
    `timing.home_records.Stuck` whose way names the action)."""
    facts = problem.facts
    stuck: Stuck = facts["stuck"]
    action = stuck.way.unknown
    assert action is not None
    return finding(
        RULE,
        f"How long {naming.the(facts['actor'])} needs to get home at {clock(Fraction(facts['since']))} has not been "
        "decided.",
        problem.at,
        note="the way home from here",
        labels=[Label(action.decl, "says nothing about how long it takes")],
        because=f"the way home takes “{action.text}”, and nothing says how long that takes",
        fixes=["give the action a `takes` line"],
    )
