"""Records grouped as people read them: findings first, then names and declarations, then excursion by excursion, and in
each actor by actor and what follows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jackstay.comparing.lines import Group, Line, Section, Told, first_actor
from jackstay.comparing.records import (
    CallMoved,
    Change,
    Comparison,
    FindingAppeared,
    FindingGone,
    FindingReworded,
    Pair,
    Renamed,
    StepAdded,
    StepAt,
    StepChanged,
    StepDropped,
    StepMoved,
    StepsReordered,
    TaskChanged,
    WaitAdded,
    WaitDropped,
)
from jackstay.comparing.words_follow import OF_FINDINGS, OF_OUTCOME, finding_line, follow_lines
from jackstay.comparing.words_steps import OF_STEPS, step_lines
from jackstay.comparing.words_world import OF_WORLD, missing_lines, world_lines

_WEIGHT = {"error": 0, "undecided": 2}  # errors first, what is not decided last


def sections(comparison: Comparison) -> list[Section]:
    told = Told(comparison)
    found = [Section("Findings", _findings(comparison)), Section("Names and declarations", _declared(told, comparison))]
    for name, changes in _by_excursion(comparison).items():
        title = told.excursions.get(name, "")
        found.append(Section(f"{name}: {title}" if title else name, tuple(_groups(told, changes))))
    missing = [Line("", (words,)) for one in comparison.missing for words in missing_lines(told, one)]
    if missing:
        found.append(Section("Not compared", (Group("", tuple(missing)),)))
    return [one for one in found if any(group.lines for group in one.groups)]


def _findings(comparison: Comparison) -> tuple[Group, ...]:
    rows = sorted((one for one in comparison.changes if isinstance(one, OF_FINDINGS)), key=_weight)
    come = tuple(finding_line(one) for one in rows if isinstance(one, FindingAppeared))
    gone = tuple(finding_line(one) for one in rows if isinstance(one, FindingGone))
    rest = tuple(finding_line(one) for one in rows if not isinstance(one, (FindingAppeared, FindingGone)))
    groups = (Group("New", come), Group("Gone", gone), Group("Said otherwise", rest))
    return tuple(group for group in groups if group.lines)


def _weight(change: Change) -> int:
    if isinstance(change, FindingReworded):
        return _WEIGHT.get(change.new.severity, 1)
    assert isinstance(change, (FindingAppeared, FindingGone))
    return _WEIGHT.get(change.finding.severity, 1)


def _declared(told: Told, comparison: Comparison) -> tuple[Group, ...]:
    rows = [one for one in comparison.changes if isinstance(one, OF_WORLD) and getattr(one, "excursion", None) is None]
    return (Group("", tuple(world_lines(told, rows))),)


def _by_excursion(comparison: Comparison) -> dict[str, list[Change]]:
    """Under the name it has now; what has moved from one excursion to another, under the one where it is now, and that
    it has moved under both."""
    known = {name: name for name in comparison.titles.new.excursions}
    for one in comparison.changes:
        if isinstance(one, Renamed) and one.what == "excursion":
            known[one.name.old] = one.name.new
    names = dict.fromkeys(known.get(name, name) for side in comparison.titles for name in side.excursions)
    found: dict[str, list[Change]] = {name: [] for name in names}
    for change in comparison.changes:
        excursion = getattr(change, "excursion", None)
        if excursion is not None:
            found.setdefault(excursion.now, []).append(change)
            if isinstance(change, TaskChanged) and change.what == "excursion":
                found.setdefault(known.get(excursion.old, excursion.old), []).append(change)
    return found


def _groups(told: Told, changes: Sequence[Change]) -> Iterator[Group]:
    plan = tuple(world_lines(told, [one for one in changes if isinstance(one, OF_WORLD)]))
    if plan:
        yield Group("Plan", plan)
    by_actor: dict[str | None, list[Change]] = {}
    for one in changes:
        if isinstance(one, OF_STEPS):
            by_actor.setdefault(first_actor(one), []).append(one)
    order = list(told.actors)
    for actor in sorted(by_actor, key=lambda name: order.index(name) if name in order else len(order)):
        title = told.actor(actor) if actor is not None else "Nobody"
        yield Group(title, tuple(step_lines(told, sorted(by_actor[actor], key=_place))))
    follows = tuple(follow_lines(told, [one for one in changes if isinstance(one, OF_OUTCOME)]))
    if follows:
        yield Group("What follows", follows)


def _place(change: Change) -> tuple[str, int]:
    """Where a step stands in its file, on the new side if it is there."""
    step = change.steps[0] if isinstance(change, StepsReordered) else getattr(change, "step", None)
    step = step.now if isinstance(step, Pair) else step
    at = step.at if isinstance(step, StepAt) else ""
    path, _, line = at.rpartition(":")
    return path, int(line) if line.isdigit() else 0


def summary(comparison: Comparison) -> str:
    """One sentence: ``Changed: 2 steps new, 1 gone, 3 otherwise; findings: 1 new.``"""
    if not comparison.changes:
        text = "Nothing has changed" if comparison.same_text else "Nothing has changed in meaning; the text has"
        return f"{text}{', as far as it can be compared' if comparison.missing else ''}."
    rows = comparison.changes
    touched = {one.step for one in rows if isinstance(one, (StepMoved, StepChanged, WaitAdded, WaitDropped, CallMoved))}
    moved = sum(len(one.steps) for one in rows if isinstance(one, StepsReordered))
    parts = [
        _counted(
            "step", {"new": _count(rows, StepAdded), "gone": _count(rows, StepDropped), "otherwise": len(touched)}
        ),
        _counted("step", {"in another order": moved}),
        _counted("other statement", {"": sum(isinstance(one, OF_WORLD) for one in rows)}),
        _counted("finding", {"new": _count(rows, FindingAppeared), "gone": _count(rows, FindingGone)}),
    ]
    said = "; ".join(part for part in parts if part)
    return f"Changed: {said}." if said else "Changed."


def _count(rows: Sequence[Change], sort: type[Change]) -> int:
    return sum(isinstance(one, sort) for one in rows)


def _counted(noun: str, counts: dict[str, int]) -> str:
    found = [(count, word) for word, count in counts.items() if count]
    if not found:
        return ""
    (first, word), *rest = found
    head = f"{first} {noun}{'' if first == 1 else 's'} {word}".strip()
    return ", ".join([head, *(f"{count} {other}" for count, other in rest)])
