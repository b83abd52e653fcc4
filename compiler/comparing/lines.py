"""What is printed, before it is text, Markdown or a page: sections, groups, and lines of prose and plan text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from jackstay.comparing.records import Change, Comparison, Pair, StepAt

NEW, GONE, OTHER = "+", "-", "~"


class Plan(str):
    """Words as they stand in the plan: a reader finds them there, and no format may take them for its own."""


class Line(NamedTuple):
    """sign: new, gone or other. parts: prose, and `Plan` text. at: ``file:line``."""

    sign: str
    parts: tuple[str, ...]
    at: str = ""

    @property
    def text(self) -> str:
        return "".join(self.parts)


class Group(NamedTuple):
    title: str
    lines: tuple[Line, ...]


class Section(NamedTuple):
    title: str
    groups: tuple[Group, ...]


class Told:
    """How names are printed: actors by their titles, the rest as in the plan."""

    def __init__(self, comparison: Comparison) -> None:
        self.actors: dict[str, str] = {**comparison.titles.old.actors, **comparison.titles.new.actors}
        self.excursions: dict[str, str] = {**comparison.titles.old.excursions, **comparison.titles.new.excursions}

    def actor(self, name: str | None) -> str:
        return self.actors.get(name or "", name or "nobody")

    def whose(self, name: str | None) -> str:
        return f"{self.actor(name)}'s"

    def cast(self, names: Sequence[str]) -> str:
        return listed([self.actor(name) for name in names])

    def holder(self, words: str) -> str:
        """``teal (by hand)`` with the actor's title."""
        name, _, rest = words.partition(" ")
        return f"{self.actors[name]} {rest}".strip() if name in self.actors else words


def listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``"""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def joined(texts: Iterable[str], between: str = "; ") -> tuple[str, ...]:
    """Plan texts with prose between them."""
    found: list[str] = []
    for text in texts:
        found += [between, Plan(text)] if found else [Plan(text)]
    return tuple(found)


def doing(step: StepAt) -> str:
    """A step in a sentence; a stand-alone heading is a way."""
    if step.text:
        return step.text
    where = " ".join(
        part for part in (f"at {step.place}" if step.place else "", f"in {step.seat}" if step.seat else "")
    )
    return f"be {where.strip() or 'there'}"


def within(step: StepAt) -> str:
    """The task after a step: `` (release)``."""
    return f" ({step.task})"


def place_of(step: Pair) -> str:
    return str(step.now.at)


def first_actor(change: Change) -> str | None:
    """Under whose name a record about steps stands."""
    step = getattr(change, "step", None)
    if isinstance(step, Pair):
        step = step.now
    if isinstance(step, StepAt):
        return step.actors[0] if step.actors else None
    actor = getattr(change, "actor", None)
    return actor.now if isinstance(actor, Pair) else None
