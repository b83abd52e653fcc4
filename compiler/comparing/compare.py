"""Two checked plans -> what changed in meaning. Begin here.

meaning (`reading`) of each side -> names (`names`) -> steps (`matching`, `differ_steps`, `reordering`) and declarations
(`differ_world`) -> what follows (`differ_outcome`) and findings (`differ_findings`). Words come last (`words`).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jackstay.comparing.differ_findings import finding_changes
from jackstay.comparing.differ_outcome import Known, outcome_changes
from jackstay.comparing.differ_rest import policy, rest
from jackstay.comparing.differ_steps import Steps
from jackstay.comparing.differ_world import declared, renamed, settings, task_lines, tasks
from jackstay.comparing.meaning import ExcursionMeaning, Meaning, TaskMeaning
from jackstay.comparing.names import Names, matched_names
from jackstay.comparing.read_declared import own_text
from jackstay.comparing.reading import Side
from jackstay.comparing.records import Change, Comparison, NotCompared, Pair, Setting, TaskChanged, Titles

NOT_FOLLOWED = "some of its lines or names are not understood, and left out above"
CIRCULAR = "its order is circular, or that of the excursion it starts from"


def compare(old: Any, new: Any) -> Comparison:
    """old, new: checked plans, or `Side`s of such. What only one side lets be followed is compared as far as it goes;
    the rest is said in ``missing``."""
    one = old if isinstance(old, Side) else Side(old)
    other = new if isinstance(new, Side) else Side(new)
    a, b = one.meaning, other.meaning
    names = matched_names(a, b)
    changes = [*renamed(a, names), *declared(a, b, names.within(None)), *_excursions(one, other, names)]
    changes += [*rest(a, b, Pair(one.rows, other.rows), names, changes), *policy(one.checked, other.checked)]
    found = list(finding_changes(one.checked, other.checked, names))
    changes += [change for change in found if not isinstance(change, NotCompared)]
    missing = [*_missing(one, other, names), *(change for change in found if isinstance(change, NotCompared))]
    titles = Pair(_titles(a), _titles(b))
    same = own_text(one.checked.sources) == own_text(other.checked.sources)
    return Comparison(Pair(a.title, b.title), tuple(changes), tuple(missing), titles, same)


def _titles(side: Meaning) -> Titles:
    crews = {
        (excursion.name, task.name): tuple(dict.fromkeys(actor for unit in task.units for actor in unit.cast))
        for excursion in side.excursions
        for task in excursion.tasks
    }
    return Titles(side.actors, {excursion.name: excursion.title for excursion in side.excursions}, crews)


def _excursions(old: Side, new: Side, names: Names) -> Iterator[Change]:
    after = {excursion.name: excursion for excursion in new.meaning.excursions}
    known: Known = {}
    for excursion in old.meaning.excursions:
        other = after.get(names.excursions.get(excursion.name, ""))
        if other is None:
            yield Setting(Pair(excursion.name, None), "", Pair("", None), _short(excursion), None)
            continue
        yield from _excursion(old, new, excursion, other, names.within(excursion.name), known)
    kept = set(names.excursions.values())
    for excursion in new.meaning.excursions:
        if excursion.name not in kept:
            yield Setting(Pair(None, excursion.name), "", Pair(None, ""), None, _short(excursion))
    yield from _moved_tasks(old, new, names)


def _short(excursion: ExcursionMeaning) -> str:
    steps = sum(unit.sort != "arrival" for task in excursion.tasks for unit in task.units)
    return f"{_counted(len(excursion.tasks), 'task')}, {_counted(steps, 'step')}"


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}{'' if count == 1 else 's'}"


def _excursion(
    old: Side, new: Side, one: ExcursionMeaning, other: ExcursionMeaning, names: Names, known: Known
) -> Iterator[Change]:
    yield from settings(one, other, names)
    yield from tasks(one, other, names)
    here, there = _own(one, other, names, 0), _own(other, one, names, 1)
    back = {b: a for a, b in names.tasks.items()}
    gone = frozenset(t.name for t in here.tasks if (one.name, t.name) not in names.tasks)
    come = frozenset(t.name for t in there.tasks if (other.name, t.name) not in back)
    steps = Steps(here, there, names, (old.order(one.name), new.order(other.name)), (gone, come))
    yield from steps.records()
    same = [(a.index, b.index) for a, b in steps.matches if a.lengths is None and b.lengths is None]
    steps_of = {a.index: b.index for a, b in steps.matches if a.sort == b.sort == "step" and a.index >= 0 <= b.index}
    yield from outcome_changes(one, other, names, known, same, steps_of)


def _own(one: ExcursionMeaning, other: ExcursionMeaning, names: Names, side: int) -> ExcursionMeaning:
    """The excursion without the tasks that have moved between two excursions."""
    pairs = names.tasks if side == 0 else {b: a for a, b in names.tasks.items()}
    kept = tuple(
        task for task in one.tasks if pairs.get((one.name, task.name), (other.name, task.name))[0] == other.name
    )
    return ExcursionMeaning(one.name, one.title, one.settings, kept, one.outcome)


def _moved_tasks(old: Side, new: Side, names: Names) -> Iterator[Change]:
    before = {e.name: e for e in old.meaning.excursions}
    after = {e.name: e for e in new.meaning.excursions}
    for (excursion, name), (where, called) in names.tasks.items():
        if names.excursions.get(excursion) != where:
            pair = Pair(excursion, where)
            task = next(task for task in before[excursion].tasks if task.name == name)
            other = next(task for task in after[where].tasks if task.name == called)
            yield TaskChanged(pair, Pair(name, called), task.fallback, "excursion", excursion, where)
            inside = names.within(excursion)
            yield from task_lines(pair, task, other, inside)
            alone = [_alone(before[excursion], task), _alone(after[where], other)]
            yield from Steps(alone[0], alone[1], inside, (None, None), (frozenset(), frozenset())).records()


def _alone(excursion: ExcursionMeaning, task: TaskMeaning) -> ExcursionMeaning:
    return ExcursionMeaning(excursion.name, excursion.title, {}, (task,), None)


def _missing(old: Side, new: Side, names: Names) -> Iterator[NotCompared]:
    """Where what follows could not be worked out on a side."""
    reasons = [NOT_FOLLOWED if side.views is None else None for side in (old, new)]
    if any(reasons):
        yield NotCompared(None, "what follows: custody, ends, times, supplies", *reasons)
        return
    after = {excursion.name: excursion for excursion in new.meaning.excursions}
    for excursion in old.meaning.excursions:
        other = after.get(names.excursions.get(excursion.name, ""))
        if other is not None and (excursion.outcome is None or other.outcome is None):
            said = [CIRCULAR if one.outcome is None else None for one in (excursion, other)]
            yield NotCompared(Pair(excursion.name, other.name), "what follows: custody, ends, times, supplies", *said)
