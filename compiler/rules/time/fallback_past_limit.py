"""A fallback that, begun late, is not over within the limit."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, event, finding
from jackstay.rules.time._chain import added_up, clock, length
from jackstay.source.record import replaced

RULE = Rule(
    "fallback-past-limit", Severity.ERROR, "A fallback begun as late as the plan may call it ends past the limit."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: fallback, call (the step after which it begins), begins, end (seconds from the excursion's start), zero
    (when the clock starts), late (seconds past the limit, the reserve used up), chain (from its beginning)."""
    facts = problem.facts
    fallback, call, limit = facts["fallback"], facts["call"], facts["excursion"].limit.text
    events = [event(1, call, f"at {clock(facts['begins'])} the fallback {fallback.name} begins")]
    for one in added_up(facts["chain"], "begins"):
        if one.text != "begins":
            events.append(replaced(one, number=len(events) + 1))
    return finding(
        RULE,
        f"The fallback {fallback.name} ends {length(facts['late'])} past the limit of {limit}, the reserve used up.",
        problem.at,
        note=f"over at {clock(facts['end'])}",
        labels=[
            Label(call.entry.at, f"it may begin after this, at {clock(facts['begins'])}"),
            Label(facts["excursion"].clock_at, "this limit"),
        ],
        events=events,
        because=f"{acting(call)} comes that late by the nominal times, and the way in from there takes this long",
        fixes=["call it earlier, leave more time after the step, or shorten the fallback"],
    )
