"""Somebody outside who could not get back inside if the plan stopped then."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.model.records import Test
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import clock, of_step
from jackstay.timing.home_records import Stuck

RULE = Rule("no-way-home", Severity.ERROR, "At some moment of the nominal plan somebody outside has no way home.")

_LAWS = {
    "line-too-short": "a line that they are on or hold is too short",
    "no-line-for-path": "no line of theirs is where the path asks for one",
    "let-go-loose": "what they hold would be let go loose",
    "two-places": "what they hold hangs on something else too",
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: flow, excursion, times, actor, since and until (seconds from the excursion's start), stuck (a
    `timing.home_records.Stuck`: the step that runs, and the way with what stands in it)."""
    facts = problem.facts
    stuck: Stuck = facts["stuck"]
    actor = naming.the(facts["actor"])
    begin, end = clock(Fraction(facts["since"])), clock(Fraction(facts["until"]))
    doing = f", doing {of_step(stuck.step)}," if stuck.step is not None else ""
    return finding(
        RULE,
        f"Between {begin} and {end} {actor}{doing} would have no way home.",
        problem.at,
        note="no way home from here",
        because=_why(stuck),
        fixes=[
            f"let {actor} get rid of what stands in the way, or give the vocabulary an action that does it",
        ],
    )


def _why(stuck: Stuck) -> str:
    way = stuck.way
    reasons = [_needed(test, binding) for test, binding in way.unmet[:3]]
    reasons += [_LAWS.get(rule, f"it would break “{rule}”") for rule in way.breaches if rule in _LAWS][:2]
    if not reasons:
        reasons = ["no action and no path leads to a place that is inside"]
    return f"where they are and with what they hold, {'; '.join(reasons)}"


def _needed(test: Test, binding: tuple[Any, ...]) -> str:
    return f"it is needed that {naming.clause(test, binding)}"
