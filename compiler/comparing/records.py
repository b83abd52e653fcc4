"""What a change does to a plan, as typed records, each with its inverse.

Every record is told from both sides: what was, what is. So the inverse of a comparison is the comparison the other way
round, record by record. Names are as each side writes them; a `Pair` holds one thing's name on either side.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.source.record import Record, replaced


class Pair(NamedTuple):
    """The same thing on either side; None where it is not there."""

    old: Any
    new: Any

    @property
    def now(self) -> Any:
        """As it is called now, or was last."""
        return self.old if self.new is None else self.new


class StepAt(Record):
    """A step (or a stand-alone heading, or a routine's call) as a reader finds it. actors: who does it. task: of a
    fallback, its name. waits: the calls it waits for. more: how long it takes and whatever else stands with it. at:
    ``file:line``."""

    task: str
    actors: tuple[str, ...]
    text: str
    place: str | None
    seat: str | None
    waits: tuple[str, ...]
    more: tuple[str, ...]
    at: str


class Figure(NamedTuple):
    """value: seconds, or an amount in base units; None where it cannot be told. text: as printed."""

    value: Fraction | None
    text: str


class Finding(NamedTuple):
    rule: str
    severity: str
    message: str
    at: str


class Change(Record):
    """The base of all records. In the inverse the fields ``old`` and ``new`` change places, and the sides of a Pair."""

    @property
    def sort(self) -> str:
        """The record's name in data: ``step-moved``."""
        return SORTS[type(self)]

    def inverse(self) -> Change:
        turned: dict[str, Any] = {field: _turned(getattr(self, field)) for field in fields_of(self)}
        if "old" in turned:
            turned["old"], turned["new"] = turned["new"], turned["old"]
        if "earlier" in turned:
            turned["earlier"] = not turned["earlier"]
        return OPPOSITE.get(type(self), type(self))(**turned)


def fields_of(record: Record) -> tuple[str, ...]:
    """The names of its fields, in order."""
    found: tuple[str, ...] = record.__match_args__
    return found


def _turned(value: Any) -> Any:
    if isinstance(value, Pair):
        return Pair(value.new, value.old)
    if type(value) is tuple and value and isinstance(value[0], Pair):
        return tuple(Pair(one.new, one.old) for one in value)
    return value


# --- what is written --------------------------------------------------------------------------------------------------


class Renamed(Change):
    """One record however often the name stands in the plan. what: actor, item, location, kind, excursion, task,
    fallback, call."""

    excursion: Pair | None
    what: str
    name: Pair


class Declared(Change):
    """What a campaign declares. what: item, kind, action, rule, routine, path, value, …; part: which clause, ``""``
    for the whole. old, new: the clause; None where there is none, or where a whole declaration is not there."""

    what: str
    name: Pair
    part: str
    old: str | None
    new: str | None


class Setting(Change):
    """A line of an excursion: crew, limit, light, left outside, …; part: of what, where there are several (an actor, an
    item, a state), or ``""``."""

    excursion: Pair
    what: str
    part: Pair
    old: str | None
    new: str | None


class TaskChanged(Change):
    """what: rank, title, after, with, only if, done when, bounds, excursion; of a fallback from, instead, then; ``""``
    where the whole task is added or dropped. fallback: whether it is one."""

    excursion: Pair
    task: Pair
    fallback: bool
    what: str
    old: str | None
    new: str | None


class Rewritten(Change):
    """A statement (or a setting of the project) that no other record tells of, as written. name: what it is called
    by, as ``fills permit, rescue``. task: in which it stands, or ``""``. old, new: None where it is not there."""

    excursion: Pair | None
    task: Pair
    name: Pair
    old: str | None
    new: str | None


class StepAdded(Change):
    excursion: Pair
    step: StepAt


class StepDropped(Change):
    excursion: Pair
    step: StepAt


class StepMoved(Change):
    """what: actor, place, seat, task."""

    excursion: Pair
    step: Pair
    what: str
    old: str | None
    new: str | None


class StepChanged(Change):
    """what: words, duration, way time, call, heading wait, expect, reason, riders, warning, caution, note, by,
    order of remarks, not before, within, light, if …"""

    excursion: Pair
    step: Pair
    what: str
    old: str | None
    new: str | None


class WaitAdded(Change):
    """The step waits for a call (how: on) or runs beside it (while). caller: who calls. ordered: whether the order was
    the same without it (None: not known)."""

    excursion: Pair
    step: Pair
    how: str
    call: str
    caller: Pair
    ordered: bool | None


class WaitDropped(Change):
    """As `WaitAdded`; ordered: whether the order stays the same without it."""

    excursion: Pair
    step: Pair
    how: str
    call: str
    caller: Pair
    ordered: bool | None


class CallMoved(Change):
    """A call is made at the end of another step than before."""

    excursion: Pair
    call: Pair
    step: Pair


class StepsReordered(Change):
    """An actor does steps (neighbours before and after, each a Pair) earlier or later in its list than before, past
    the steps from ``past[0]`` to ``past[1]``. whole: the tasks of which these are all that the actor does."""

    excursion: Pair
    actor: Pair
    steps: tuple[Pair, ...]
    past: tuple[Pair, ...]
    earlier: bool
    whole: Pair


# --- what follows -----------------------------------------------------------------------------------------------------


class CustodyChanged(Change):
    """On what an item hangs in turn through an excursion: each stay as ``wren by hand``."""

    excursion: Pair
    item: Pair
    old: tuple[str, ...]
    new: tuple[str, ...]


class EndChanged(Change):
    """How something stands at an excursion's end. part: a property, or ``""`` for where it is. Told of the excursion
    in which the difference comes up."""

    excursion: Pair
    thing: Pair
    part: str
    old: str | None
    new: str | None


class PackChanged(Change):
    """way: out or in. old, new: who takes the item through (``nobody``: it goes by itself); None: it does not go."""

    excursion: Pair
    item: Pair
    way: str
    old: str | None
    new: str | None


class ChainChanged(Change):
    """The steps that are on the critical chain on one side only, in order. through: the tasks that it goes through on
    one side only."""

    excursion: Pair
    through: Pair
    old: tuple[StepAt, ...]
    new: tuple[StepAt, ...]


class FigureChanged(Change):
    """what: end, clock, spare, way home, margin, turn back, or a supply's name (what is left of it). actor: None where
    it is the excursion's. A margin is in seconds."""

    excursion: Pair
    actor: Pair | None
    what: str
    old: Figure | None
    new: Figure | None


class PaceChanged(Change):
    """Steps whose line says nothing of their length take another time. steps: how many. old, new: likely, least to
    most."""

    excursion: Pair
    verb: str
    steps: int
    old: str
    new: str


class FindingAppeared(Change):
    finding: Finding


class FindingGone(Change):
    finding: Finding


class FindingReworded(Change):
    """The same finding of the same rule at the same line of the plan, in other words (another time, another name)."""

    old: Finding
    new: Finding


class NotCompared(Change):
    """what could not be compared, and why, on the side where it cannot."""

    excursion: Pair | None
    what: str
    old: str | None
    new: str | None


OPPOSITE: dict[type[Change], type[Change]] = {
    StepAdded: StepDropped,
    StepDropped: StepAdded,
    WaitAdded: WaitDropped,
    WaitDropped: WaitAdded,
    FindingAppeared: FindingGone,
    FindingGone: FindingAppeared,
}

SORTS: dict[type[Change], str] = {
    Renamed: "renamed",
    Declared: "declared",
    Setting: "setting",
    TaskChanged: "task-changed",
    Rewritten: "rewritten",
    StepAdded: "step-added",
    StepDropped: "step-dropped",
    StepMoved: "step-moved",
    StepChanged: "step-changed",
    WaitAdded: "wait-added",
    WaitDropped: "wait-dropped",
    CallMoved: "call-moved",
    StepsReordered: "steps-reordered",
    CustodyChanged: "custody-changed",
    EndChanged: "end-changed",
    PackChanged: "pack-changed",
    ChainChanged: "chain-changed",
    FigureChanged: "figure-changed",
    PaceChanged: "pace-changed",
    FindingAppeared: "finding-appeared",
    FindingGone: "finding-gone",
    FindingReworded: "finding-reworded",
    NotCompared: "not-compared",
}


class Titles(NamedTuple):
    """What is printed for a name: an actor's or an excursion's title. crews: who works in each (excursion, task)."""

    actors: dict[str, str]
    excursions: dict[str, str]
    crews: dict[tuple[str, str], tuple[str, ...]]


class Comparison(Record):
    """changes: in the order told. partial: what could not be compared is not the same as what has not changed.
    same_text: nothing differs but the files' layout and comments, or not even that."""

    title: Pair
    changes: tuple[Change, ...]
    missing: tuple[NotCompared, ...]
    titles: Pair
    same_text: bool

    @property
    def changed(self) -> bool:
        return bool(self.changes)

    def inverse(self) -> Comparison:
        """The comparison the other way round; told in the same order of places, so it need not be sorted again."""
        return replaced(
            self,
            title=_turned(self.title),
            titles=_turned(self.titles),
            changes=tuple(one.inverse() for one in self.changes),
            missing=tuple(one.inverse() for one in self.missing),
        )
