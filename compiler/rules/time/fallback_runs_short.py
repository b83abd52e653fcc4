"""Something stated about time that holds in the plan as written, and not when it goes over into a fallback."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, event, finding
from jackstay.rules.time._chain import clock, length, of_step
from jackstay.source.record import replaced

RULE = Rule(
    "fallback-runs-short", Severity.ERROR, "In a fallback a time is missed, or a supply or the way home does not last."
)


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: fallback, call (the step after which it begins), begins (seconds from the excursion's start); problem
    (what is wrong then), or missed: a ``within`` of a call that was made before, the step it is said of, when the call
    was made, and when the step is over."""
    from jackstay.rules import registry

    facts = problem.facts
    fallback, call, begins = facts["fallback"], facts["call"], clock(facts["begins"])
    labels = [
        Label(fallback.decl, f"this fallback, begun at {begins}"),
        Label(call.entry.at, f"it may begin after this, at {begins}"),
    ]
    because = f"by the nominal times {acting(call)} until {begins}, and then the fallback may begin"
    if facts["problem"] is None:
        bound, step, called, end = facts["missed"]
        mark = bound.mark
        return finding(
            RULE,
            f"In the fallback {fallback.name}: {of_step(step)} is over {length(end - called)} after “{mark.name}”, "
            f"and this allows {length(bound.value)}.",
            problem.at,
            note=f"over at {clock(end)}",
            labels=[*labels, Label(mark.entry.at, f"“{mark.name}” was called at {clock(called)}")],
            events=[event(1, call, f"at {begins} the fallback begins")],
            because=because,
            fixes=["shorten the fallback, or allow more time"],
        )
    inner = registry.tell(facts["problem"], plan)
    return replaced(
        inner,
        rule=RULE.name,
        severity=RULE.severity,
        message=f"In the fallback {fallback.name}: {inner.message}",
        labels=(*(label for label in labels if label.at != inner.at), *inner.labels),
        because=f"{because}; then {inner.because}" if inner.because else because,
        help=(),
    )
