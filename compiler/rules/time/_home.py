"""What the rules about the way home share: its parts as events that add up."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Event
from jackstay.flow.records import Step
from jackstay.model.records import Thing
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.rules.time._chain import length
from jackstay.source.spans import Span
from jackstay.timing.home_records import Line, Moment, Number, Part
from jackstay.timing.home_rescue import Fetch


def going_home(plan: Any, moment: Moment, at: Span) -> list[Event]:
    """Make safe, each part of the way, the wait for the way in, and coming in, with the time so far."""
    told = _Told(moment.at.actor, at)
    _first(told, moment.at.line, moment.at.step, moment.t)
    _parts(plan, told, moment.at.line.way.parts)
    if moment.wait and moment.at.ahead is not None:
        told.add(f"waits until {the(moment.at.ahead)} is in", moment.wait)
    if moment.at.line.way.entry:
        told.add(f"comes in by {the(moment.at.line.way.goal)}", moment.at.line.way.entry)
    return told.events


def fetching(plan: Any, fetch: Fetch, partner: Thing, t: Number, at: Span) -> list[Event]:
    """The same for somebody who brings in a partner; entries for two."""
    told = _Told(fetch.rescuer, at)
    _first(told, fetch.line, fetch.line.step, t)
    way, home = fetch.line.way, fetch.home
    _parts(plan, told, way.parts[: way.met_parts])
    back = home.parts[home.met_parts :]
    entry = 2 * home.entry
    between = fetch.at(t) - told.so_far - sum(part.seconds for part in back) - entry
    if between > 0:
        told.add(f"meets {the(partner)} between two places, and brings {the(partner)} to the one nearer home", between)
    _parts(plan, told, back)
    if entry:
        told.add(f"brings {the(partner)} in by {the(home.goal)}, one after the other", entry)
    return told.events


class _Told:
    def __init__(self, actor: Thing, at: Span) -> None:
        self.actor, self.at = actor, at
        self.events: list[Event] = []
        self.so_far: Number = 0

    def add(self, text: str, seconds: Number) -> None:
        self.so_far += seconds
        text = f"{text}: {length(Fraction(seconds))}"
        so_far = f"{length(Fraction(self.so_far))} so far"
        self.events.append(Event(len(self.events) + 1, naming.proper(self.actor), text, so_far, self.at))


def _first(told: _Told, line: Line, step: Step | None, t: Number) -> None:
    seconds = line.safe(t)
    if step is None or not seconds:
        return
    doing = f"“{naming.joined(naming.words_of(step))}”"
    words = {
        "rest": f"finishes {doing}",
        "stop": f"breaks off {doing}",
        "back": f"turns round, back to {the(line.place)}",
        "on": f"goes on to {the(line.place)}",
    }
    told.add(words[line.sort], seconds)


def _parts(plan: Any, told: _Told, parts: tuple[Part, ...]) -> None:
    for part in parts:
        text = naming.does(naming.phrase(part.action, part.binding), part.binding)
        if part.sort == "ride":
            text = f"is brought: {naming.who(part.binding)} {text}"
        if part.metres:
            text += f" ({naming.like(Fraction(part.metres), naming.a_length(plan.world))})"
        told.add(text, part.seconds)
