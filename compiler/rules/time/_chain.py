"""What the rules about time share: clock times in words, and a chain of steps as a few numbered events."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import NamedTuple

from jackstay.diagnostics.records import Event, Label
from jackstay.flow.records import Step
from jackstay.model.records import Thing
from jackstay.rules import naming
from jackstay.rules.naming import the
from jackstay.source.spans import Span
from jackstay.timing import gaps
from jackstay.timing.deadlines import Part

MINUTE = 60
MOST = 8  # events of one story
MANY = 200  # steps of a chain looked at one by one
NAMED = 3  # actors of one event
ZERO = Fraction(0)


def length(seconds: Fraction) -> str:
    """``41 min``, ``1 h 23 min``; tenths of a minute below an hour."""
    if seconds < 0:
        return f"-{length(-seconds)}"
    if seconds < 60 * MINUTE:
        return gaps.minutes(seconds)
    minutes = int(seconds / MINUTE + Fraction(1, 2))
    return f"{minutes // 60} h {minutes % 60} min" if minutes % 60 else f"{minutes // 60} h"


def clock(seconds: Fraction) -> str:
    """``3:07``: hours and whole minutes begun since the excursion's start."""
    if seconds < 0:
        return f"-{clock(-seconds)}"
    minutes = int(seconds // MINUTE)
    return f"{minutes // 60}:{minutes % 60:02d}"


def of_step(step: Step) -> str:
    """``Ben's “clean mill”``"""
    return f"{naming.who(step.binding)}'s “{naming.joined(naming.words_of(step))}”"


class Run(NamedTuple):
    """Steps of a chain that follow on each other, told as one."""

    parts: tuple[Part, ...]

    @property
    def seconds(self) -> Fraction:
        return self.parts[-1].until - self.parts[0].since


def added_up(
    parts: Sequence[Part], start: str = "", most: int = MOST, origin: Fraction | None = None
) -> tuple[Event, ...]:
    """A chain as events that add up: the shortest neighbours, those of one task first, are put together until few
    enough are left. Each event leaves the time at which it is over.

    start: what the first step waits for, in words, where the chain itself does not say. origin: what the times are
    told from, in seconds; None: they are clock times of the excursion."""
    told_at = clock if origin is None else lambda seconds: f"{length(seconds - origin)} so far"
    every = Run(tuple(parts))
    runs = [Run((part,)) for part in parts if part.until > part.since] or [every]
    if len(runs) > MANY:
        size = -(-len(runs) // MANY)
        runs = [Run(every.parts[i : i + size]) for i in range(0, len(parts), size)]
    while len(runs) > most:
        at = min(range(len(runs) - 1), key=lambda i: _cost(runs[i], runs[i + 1]))
        runs[at : at + 2] = [Run((*runs[at].parts, *runs[at + 1].parts))]
    events: list[Event] = []
    for run in runs:
        first = run.parts[0]
        waits = _waits(first) or (start if not events else "")
        if waits and first.since > (origin or 0):
            who, each = _who([first.step])
            events.append(Event(len(events) + 1, who, waits, told_at(first.since), first.step.entry.at, each))
        told = max(run.parts, key=lambda part: part.until - part.since).step
        who, each = _who(part.step for part in run.parts if part.until > part.since)
        events.append(
            Event(
                len(events) + 1,
                who,
                f"{_what(run)}: {length(run.seconds)}",
                told_at(run.parts[-1].until),
                told.entry.at,
                each,
            )
        )
    return tuple(events)


def _cost(one: Run, other: Run) -> tuple[int, Fraction]:
    """What is lost when two runs are told as one: first of all, that they are of different tasks."""
    tasks = {part.step.entry.task.name for part in (*one.parts, *other.parts)}
    return len(tasks) - 1, one.seconds + other.seconds


def _waits(part: Part) -> str:
    if part.why == "not-before":
        return "waits: not before"
    if part.why == "light":
        return f"waits {light_awaited(part.step)}"
    if part.kept is not None:
        bound, step = part.kept
        of = f" of “{bound.mark.name}”" if bound.mark is not None else ""
        return f"waits, so that {of_step(step)} is within {length(bound.value)}{of}"
    return ""


def light_awaited(step: Step) -> str:
    """``for the light``, ``for the dark``: what a step waits for that asks for it."""
    bounds = (*step.entry.bounds, *step.entry.task.bounds)
    word = next((bound.word for bound in bounds if bound.sort == "light"), "")
    return "for the dark" if word == "dark" else "for the light"


def _who(steps: Iterable[Step]) -> tuple[str, tuple[str, ...]]:
    """``Wren``, ``Wren and Teal``; who only runs another of the cast is not named. And each of them by name."""
    found: dict[Thing, None] = {}
    for step in steps:
        runners = {actor.runner for actor in step.cast}
        found.update(dict.fromkeys(actor for actor in step.cast if actor not in runners))
    named = [the(actor) for actor in found]
    told = naming.listed(named if len(named) <= NAMED else [named[0], f"{len(named) - 1} more"])
    return told, tuple(named)


def _what(run: Run) -> str:
    """One step in its own words; more as parts of their tasks."""
    parts = [part for part in run.parts if part.until > part.since]
    if len(parts) == 1:
        step = parts[0].step
        # A heading that names no place, with a time behind it: nothing is done, and the time passes.
        return "stays" if naming.words_of(step) == ["begin"] else naming.doing(step)
    counts: dict[str, int] = {}
    for part in parts:
        counts[part.step.entry.task.name] = counts.get(part.step.entry.task.name, 0) + 1
    named = [f"{n} step{'s' if n > 1 else ''} of {task}" for task, n in counts.items()]
    return naming.listed(named[:3]) if len(named) <= 3 else f"{', '.join(named[:2])} and {len(named) - 2} tasks more"


def spread(steps: Iterable[tuple[Step, Fraction]], at: Span) -> list[Label]:
    """Labels on the durations that may turn out longer."""
    return [Label(step.entry.at, f"may take {length(more)} longer") for step, more in steps if step.entry.at != at]
