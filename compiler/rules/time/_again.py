"""What the rules about how soon something is so again share."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Event, Label
from jackstay.flow.records import Step
from jackstay.rules.story import acting, event
from jackstay.source.spans import Span


def between(facts: dict[str, Any]) -> str:
    """When it was over and when it is so again, in words."""
    over: Step | None = facts["until"]
    again: Step | None = facts["since"]
    apart = facts["over_flow"] is not facts["flow"]
    where = f" on {facts['over_flow'].excursion.name}" if apart else ""
    ended = f"it was over when {acting(over)}{where}" if over is not None else f"it was over at the end{where}"
    return f"{ended}, and is so again {f'when {acting(again)}' if again is not None else 'from the start'}"


def events(facts: dict[str, Any]) -> list[Event]:
    told = [(facts["until"], "over"), (facts["since"], "so again")]
    return [event(n, step, text) for n, (step, text) in enumerate(((s, t) for s, t in told if s is not None), 1)]


def labels(facts: dict[str, Any], at: Span) -> list[Label]:
    told = [(facts["until"], "it was over here"), (facts["since"], "here it is so again")]
    found = [Label(step.entry.at, text) for step, text in told if step is not None and step.entry.at != at]
    return [*found, Label(facts["rule"].decl, f"the rule: {facts['rule'].title}")]
