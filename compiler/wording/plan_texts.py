"""The texts of a plan, each with its kind and its place: what its readers read."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from jackstay.model.records import Entry, Excursion, Task, World
from jackstay.source.spans import Span


class PlanText(NamedTuple):
    """kind: as `judging.judge` takes it; or ``title`` of a task, or ``spoken``: what a step has somebody say. These are
    instructions if they instruct."""

    kind: str
    text: str
    at: Span


def entries_of(excursion: Excursion) -> Iterator[Entry]:
    """All that is done or may be done, fallbacks too, in text order."""
    yield from excursion.entries
    for fallback in excursion.fallbacks:
        yield from fallback.body.entries


def tasks_of(excursion: Excursion) -> Iterator[Task]:
    yield from excursion.tasks
    for fallback in excursion.fallbacks:
        yield fallback.body


def written_at(entry: Entry) -> Span:
    """Where an entry's words are written: in its routine, if it comes from one."""
    return entry.routine_at or entry.at


def texts_of(world: World, shipped: frozenset[str]) -> Iterator[PlanText]:
    """Every text once, however often its routine is called. shipped: paths of files that come with Jackstay: their
    texts are not the plan's."""
    seen: set[tuple[Span, str]] = set()
    for found in _all(world):
        key = (found.at, found.text)
        if found.at.line and found.at.path not in shipped and key not in seen:
            seen.add(key)
            yield found


def _all(world: World) -> Iterator[PlanText]:
    yield PlanText("description", world.title, world.decl)
    for thing in world.things:
        yield PlanText("description", thing.title, thing.decl)
    for rule in world.rules:
        yield PlanText("description", rule.title, rule.decl)
    for hazard in world.hazards.values():
        yield PlanText("description", hazard.title, hazard.decl)
    for excursion in world.excursions:
        yield PlanText("description", excursion.title, excursion.decl)
        for task in excursion.tasks:
            yield PlanText("title", task.title, task.decl)
        for fallback in excursion.fallbacks:
            yield PlanText("title", fallback.title, fallback.decl)
        for entry in entries_of(excursion):
            yield from _of_entry(entry)


def _of_entry(entry: Entry) -> Iterator[PlanText]:
    for remark in entry.remarks:
        yield PlanText(remark.sort, remark.text, remark.at)
    if entry.because:
        yield PlanText("description", entry.because, written_at(entry))
    if entry.action is not None:
        phrase, spoken = entry.text, []
        for bound in entry.binding[2:]:
            if isinstance(bound, str):
                spoken.append(bound)
                phrase = phrase.replace(f'"{bound}"', "")
        yield PlanText("step", phrase, written_at(entry))
        for text in spoken:
            yield PlanText("spoken", text, written_at(entry))
    if entry.expect is not None:
        yield PlanText("reading", entry.expect.text, entry.expect.at)
