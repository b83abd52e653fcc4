"""What the rules about how long something lasts share: the facts in words, from which step until which."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Event, Label
from jackstay.flow.records import Step
from jackstay.model.records import Slot
from jackstay.rules import naming
from jackstay.rules.standing import _facts
from jackstay.rules.story import acting, event
from jackstay.source.spans import Span

MINUTE, HOUR, DAY = 60, 3_600, 86_400


def length(seconds: Fraction) -> str:
    """``47 min``, ``5 h 40 min``, ``61.5 d``; the first two rounded up to whole minutes, days up to a tenth."""
    if seconds >= 2 * DAY:
        tenths = -(-seconds * 10 // DAY)
        return f"{tenths // 10} d" if tenths % 10 == 0 else f"{tenths // 10}.{tenths % 10} d"
    hours, minutes = divmod(int(-(-seconds // MINUTE)), 60)
    if hours < 2:
        return f"{hours * 60 + minutes} min"
    return f"{hours} h {minutes:02d} min" if minutes else f"{hours} h"


def whole(facts: dict[str, Any]) -> str:
    """The length of the stretch; ``at least`` where days between excursions are not dated."""
    return ("at least " if facts["at_least"] else "") + length(facts["seconds"])


def holding(facts: dict[str, Any]) -> str:
    """What holds all the while: ``the power of the feed is off while …``."""
    return _facts.together(_facts.clauses(facts["tests"], facts["binding"]))


def since(facts: dict[str, Any]) -> str:
    """From when to when, in words."""
    first: Step | None = facts["since_step"]
    last: Step | None = facts["until"]
    apart = facts["since_flow"] is not facts["flow"]
    where = f" on {facts['since_flow'].excursion.name}" if apart else ""
    begun = f"from the start{where}" if first is None else f"since {acting(first)}{where}"
    return f"{begun}, until {acting(last)}" if last is not None else f"{begun}, to the end"


def events(facts: dict[str, Any], begins: str, ends: str) -> list[Event]:
    """The step by which it begins, and the one by which it is over."""
    told: list[tuple[Step, str]] = []
    if facts["since_step"] is not None:
        told.append((facts["since_step"], begins))
    if facts["until"] is not None:
        told.append((facts["until"], ends))
    return [event(n, step, text) for n, (step, text) in enumerate(told, 1)]


def labels(facts: dict[str, Any], at: Span, begins: str, ends: str) -> list[Label]:
    found = []
    for step, text in ((facts["since_step"], begins), (facts["until"], ends)):
        if step is not None and step.entry.at != at:
            found.append(Label(step.entry.at, text))
    if facts["since_step"] is None:
        for test in facts["tests"]:
            thing = facts["binding"][test.a.index] if isinstance(test.a, Slot) else naming.resolved(test.a, ())
            if thing is not None and thing.decl.line:
                found.append(Label(thing.decl, f"{naming.the(thing)}, as declared"))
                break
    found.append(Label(facts["rule"].decl, f"the rule: {facts['rule'].title}"))
    return found
