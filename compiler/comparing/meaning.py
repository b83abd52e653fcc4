"""What a plan says, as plain data by names: ready to be set beside what another says."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from jackstay.source.record import Entity, Record


class Call(NamedTuple):
    """A mark: whose task, and its name."""

    task: str
    name: str


class Wait(NamedTuple):
    """how: on, while. heading: whether it is waited for before going there."""

    call: Call
    how: str
    heading: bool


class Bound(NamedTuple):
    sort: str  # by, not-before, within, light
    text: str
    call: Call | None


Arg = tuple[str, str]  # (thing, any, number, text or none; what)
Lengths = tuple[Fraction | None, Fraction | None, Fraction | None]  # likely, least, most, in seconds


class Unit(Record):
    """A step, a heading that stands alone, or the call of a routine with the steps it unfolds into.

    first: the first step under its heading. head, head_bounds, way: what the heading waits for, its bounds, and how
    long the way takes; of all steps under it. index: of its (first) entry in the excursion's list; -1 in a fallback.
    verb: the action's pattern."""

    sort: str  # step, arrival, routine
    task: str
    index: int
    cast: tuple[str, ...]
    doers: tuple[str, ...]
    riders: tuple[str, ...]
    place: str | None
    seat: str | None
    verb: str
    args: tuple[Arg, ...]
    text: str
    lengths: Lengths | None
    first: bool
    head: tuple[Wait, ...]
    head_bounds: tuple[Bound, ...]
    way: Lengths | None
    says: tuple[str, ...]
    waits: tuple[Wait, ...]
    bounds: tuple[Bound, ...]
    expect: str | None
    because: str | None
    remarks: tuple[tuple[str, str], ...]
    answers: tuple[tuple[str, str], ...]  # outcome, what then
    inner: tuple[Unit, ...]
    at: str


class TaskMeaning(Record):
    """lines: what else is said of it, by what it is: rank, after, done when, …"""

    name: str
    fallback: bool
    was: str | None
    lines: dict[str, tuple[str, ...]]
    units: tuple[Unit, ...]


class Critical(NamedTuple):
    """A step of the critical chain. entry: the index of the entry that it is the step of; -1 for an inserted one."""

    who: tuple[str, ...]
    words: str
    task: str
    at: str
    entry: int


class Outcome(Record):
    """What follows from an excursion. ends, where at the end: (thing, property or "") -> words. custody: item -> stays.
    packed: (item, way) -> who. critical: (who, words, task, at). figures: (actor or "", what) -> (value, words).
    paces: entry index -> (verb, words) of steps whose line gives no time."""

    ends: dict[tuple[str, str], str]
    custody: dict[str, tuple[str, ...]]
    packed: dict[tuple[str, str], str]
    critical: tuple[Critical, ...]
    figures: dict[tuple[str, str], tuple[Fraction | None, str]]
    paces: dict[int, tuple[str, str]]


class ExcursionMeaning(Record):
    """settings: its own lines, (what, part) -> words. outcome: None where it could not be followed."""

    name: str
    title: str
    settings: dict[tuple[str, str], str]
    tasks: tuple[TaskMeaning, ...]
    outcome: Outcome | None


class ThingMeaning(NamedTuple):
    """clauses: what is written of it, by what it is."""

    name: str
    sort: str
    kind: str
    clauses: dict[str, str]


class Text(NamedTuple):
    """A declaration as its lines say it, comments left out."""

    what: str
    name: str
    lines: tuple[str, ...]


class Meaning(Entity):
    """One side. order: excursion -> a question: (index of an entry, index of another) -> whether the first has surely
    ended when the second starts."""

    title: str
    things: list[ThingMeaning]
    texts: list[Text]
    excursions: list[ExcursionMeaning]
    actors: dict[str, str]  # name -> title
    labels: dict[str, str]  # titles of things that findings speak of, by name
