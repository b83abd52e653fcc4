"""What of a comparison bears on one actor: their steps, who they wait for and who waits for them, what they hold."""

from __future__ import annotations

import re
from collections.abc import Iterable

from jackstay.comparing.records import (
    ChainChanged,
    Change,
    Comparison,
    CustodyChanged,
    Declared,
    EndChanged,
    FigureChanged,
    FindingAppeared,
    FindingGone,
    FindingReworded,
    PackChanged,
    Pair,
    Renamed,
    Rewritten,
    Setting,
    StepAt,
    TaskChanged,
    Titles,
    WaitAdded,
    WaitDropped,
    fields_of,
)
from jackstay.source.record import replaced


class UnknownActor(LookupError):
    """Nobody on either side has this name. args: the names there are."""


def seen_by(comparison: Comparison, actor: str) -> tuple[Comparison, str]:
    """The records that bear on an actor, asked for by name or title, and the actor's title. Raises `UnknownActor`."""
    names = _names(comparison, actor)
    view = _View(comparison, names)
    seen = replaced(comparison, changes=tuple(one for one in comparison.changes if view.bears(one)))
    known = {**comparison.titles.old.actors, **comparison.titles.new.actors}
    return seen, next(title for name, title in known.items() if name in names)


def _names(comparison: Comparison, actor: str) -> set[str]:
    """What the actor is called on either side."""
    found: set[str] = set()
    titles: Titles
    for titles in comparison.titles:
        found |= {name for name, title in titles.actors.items() if actor.lower() in (name.lower(), title.lower())}
    for change in comparison.changes:
        if isinstance(change, Renamed) and change.what == "actor" and found & {*change.name}:
            found |= {*change.name}
    if not found:
        known = {name for titles in comparison.titles for name in titles.actors}
        raise UnknownActor(*sorted(known))
    return found


class _View:
    def __init__(self, comparison: Comparison, names: set[str]) -> None:
        self.names = names
        self.titles = {side.actors[name] for side in comparison.titles for name in names if name in side.actors}
        self.word = re.compile(
            rf"(?<![\w-])({'|'.join(re.escape(one) for one in sorted(names | self.titles))})(?![\w-])"
        )
        self.crews: set[tuple[str, str]] = {
            key for side in comparison.titles for key, crew in side.crews.items() if names & {*crew}
        }

    def bears(self, change: Change) -> bool:
        if isinstance(change, (FindingAppeared, FindingGone)):
            return self._named(change.finding.message)
        if isinstance(change, FindingReworded):
            return self._named(change.new.message)
        if isinstance(change, (WaitAdded, WaitDropped)):
            return self._steps((change.step,)) or change.caller.now in self.names
        if isinstance(change, TaskChanged):
            return any((name, task) in self.crews for name in change.excursion for task in change.task)
        if isinstance(change, Rewritten):
            if change.excursion is None or not change.task.now:
                return True
            return any((name, task) in self.crews for name in change.excursion for task in change.task)
        if isinstance(change, CustodyChanged):
            return any(self._named(stay) for stay in (*change.old, *change.new))
        if isinstance(change, PackChanged):
            return change.old in self.names or change.new in self.names
        if isinstance(change, EndChanged):
            return bool(self.names & {*change.thing}) or any(
                self._named(words or "") for words in (change.old, change.new)
            )
        if isinstance(change, FigureChanged):
            return change.actor is None or bool(self.names & {*change.actor})
        if isinstance(change, ChainChanged):
            return self._steps((*change.old, *change.new))
        if isinstance(change, Setting):
            return change.what != "crew" or bool(self.names & {*change.part})
        if isinstance(change, (Declared, Renamed)):
            return bool(self.names & {*change.name})
        found = (getattr(change, field) for field in fields_of(change))
        return self._steps(found) or bool(self.names & {*(getattr(change, "actor", None) or ())})

    def _steps(self, values: Iterable[object]) -> bool:
        for value in values:
            if isinstance(value, StepAt) and self.names & {*value.actors}:
                return True
            if isinstance(value, Pair) and self._steps(value):
                return True
            if type(value) is tuple and self._steps(value):
                return True
        return False

    def _named(self, text: str) -> bool:
        return self.word.search(text) is not None
