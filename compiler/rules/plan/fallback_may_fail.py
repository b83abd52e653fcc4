"""A fallback that does not hold in some state in which it may begin."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules import story
from jackstay.rules.records import Rule
from jackstay.source.record import replaced

RULE = Rule("fallback-may-fail", Severity.ERROR, "A fallback does not hold in some state in which it may begin.")


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: problem (what is wrong then; None: a call never comes), mark (that call), fallback, call (the step after
    which it begins), undone (that step had no effect), finished (the others' last steps by then), flow, excursion."""
    facts = problem.facts
    fallback, call, finished = facts["fallback"], facts["call"], facts["finished"]
    begins = f"when “{call.entry.text}” is over" + (" and has had no effect" if facts["undone"] else "")
    events = [story.event(1, call, f"the fallback {fallback.name} begins")]
    for step in finished:
        events.append(story.event(len(events) + 1, step, "over by then"))
    labels = (Label(fallback.decl, f"the fallback {fallback.name}"), Label(call.entry.at, "it may begin after this"))
    if facts["problem"] is None:
        mark = facts["mark"]
        return Diagnostic(
            RULE.name,
            RULE.severity,
            f"In the fallback {fallback.name}, this waits for “{mark.name}”, which nobody says any more.",
            problem.at,
            note="never called",
            labels=(*labels, Label(mark.at, "said here, in a task that the fallback leaves out")),
            events=tuple(events),
            because=f"it may begin {begins}; the call may not have been made by then, and its task is not flown",
        )
    from jackstay.rules import registry

    inner = registry.tell(facts["problem"], plan)
    told = list(events)
    for event in inner.events:
        told.append(replaced(event, number=len(told) + 1))
    return replaced(
        inner,
        rule=RULE.name,
        severity=RULE.severity,
        message=f"In the fallback {fallback.name}: {inner.message}",
        labels=(*(label for label in labels if label.at != inner.at), *inner.labels),
        events=tuple(told),
        because=f"it may begin {begins}" + (f"; {inner.because}" if inner.because else ""),
        help=(),
    )
