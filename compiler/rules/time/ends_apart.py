"""Crew who go out together and end too far apart."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Label, Problem, Severity
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.records import Rule
from jackstay.rules.story import finding
from jackstay.rules.time._chain import clock, length, light_awaited, of_step

RULE = Rule("ends-apart", Severity.WARNING, "Those who go outside end further apart than `finish together` allows.")
MOST = 4


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: first, last (actors), apart (seconds), ends (actor -> when its last step is over), waits (actor -> its
    delays), times."""
    facts = problem.facts
    first, last, flow = facts["first"], facts["last"], facts["flow"]
    idle = {actor: sum(d.until - d.since for d in delays) for actor, delays in facts["waits"].items()}
    longest = sorted(facts["waits"][last], key=lambda d: (d.since - d.until, d.step))[:MOST]
    events: list[Event] = []
    for delay in sorted(longest, key=lambda d: d.step):
        step = flow.steps[delay.step]
        text = f"waits {length(delay.until - delay.since)} {_for(flow, delay)}"
        events.append(Event(len(events) + 1, the(last), text, f"until {clock(delay.until)}", step.entry.at))
    end = next(step for step in reversed(flow.steps) if last in step.cast)
    events.append(Event(len(events) + 1, the(last), naming.doing(end), clock(facts["ends"][last]), end.entry.at))
    waits = naming.listed(f"{the(actor)} waits {length(seconds)}" for actor, seconds in idle.items() if seconds > 0)
    within = facts["excursion"].together.within.text
    return finding(
        RULE,
        f"{the(last)} ends {length(facts['apart'])} after {the(first)}, not within {within}.",
        problem.at,
        note="finish together",
        labels=[
            Label(_last(flow, actor).entry.at, f"{the(actor)} ends at {clock(end)}")
            for actor, end in facts["ends"].items()
        ],
        events=events,
        because=f"on the way there {waits} in all"
        if waits
        else f"{the(last)} has that much more to do, and nobody waits",
        fixes=[f"give {the(first)} some of what {the(last)} has to do"],
    )


def _last(flow: Any, actor: Any) -> Any:
    return next(step for step in reversed(flow.steps) if actor in step.cast)


def _for(flow: Any, delay: Any) -> str:
    if delay.why == "light":
        return light_awaited(flow.steps[delay.step])
    if delay.why == "within" and delay.cause is not None:
        return f"so that {of_step(flow.steps[delay.cause])} is not too late after its call"
    if delay.cause is None or delay.why:
        return "for the clock"
    cause = flow.steps[delay.cause]
    others = [the(actor) for actor in cause.cast if actor is not delay.actor]
    return f"for {naming.listed(others) or naming.who(cause.binding)}, who first {naming.doing(cause)}"
