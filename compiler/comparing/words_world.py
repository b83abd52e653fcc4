"""Records about names, declarations, excursions and tasks, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jackstay.comparing.lines import GONE, NEW, OTHER, Line, Plan, Told, joined
from jackstay.comparing.records import Change, Declared, NotCompared, Renamed, Rewritten, Setting, TaskChanged

_ALIKE = 2  # and more: things that have changed alike are one line
OF_WORLD = (Renamed, Declared, Setting, TaskChanged, Rewritten)
_SAID = "said"  # a setting that says no more than that it is there


def world_lines(told: Told, changes: Sequence[Change]) -> Iterator[Line]:
    """In the order of the records; what is alike of several is one line, where the first of them stands."""
    groups: dict[object, list[Change]] = {}
    for change in changes:
        groups.setdefault(_alike(change) or id(change), []).append(change)
    for group in groups.values():
        yield _line(told, group[0]) if len(group) < _ALIKE else _together(group)


def _alike(change: Change) -> object:
    if isinstance(change, Declared) and change.part and change.name.now:
        return change.what, change.part, change.old, change.new
    return ("renamed", change.what) if isinstance(change, Renamed) else None


def _together(changes: Sequence[Change]) -> Line:
    first = changes[0]
    if isinstance(first, Renamed):
        parts: list[str] = []
        for one in changes:
            assert isinstance(one, Renamed)
            parts += [
                ", " if parts else f"{first.what}s called otherwise: ",
                Plan(one.name.new),
                " (was ",
                Plan(one.name.old),
                ")",
            ]
        return Line(OTHER, tuple(parts))
    assert isinstance(first, Declared)
    names = [one.name.now for one in changes if isinstance(one, Declared)]
    after, before = _stated(first.new), _stated(first.old)
    return Line(OTHER, (f"{first.what}s ", *joined(names, ", "), f", {first.part}: ", after, ", was ", before))


def _line(told: Told, change: Change) -> Line:
    if isinstance(change, Renamed):
        return Line(OTHER, (f"{change.what} ", Plan(change.name.old), " is called ", Plan(change.name.new), " now"))
    if isinstance(change, Declared):
        return _declared(change)
    if isinstance(change, Setting):
        return _setting(told, change)
    if isinstance(change, Rewritten):
        return _rewritten(change)
    assert isinstance(change, TaskChanged)
    return _task(change)


def _declared(change: Declared) -> Line:
    sign = NEW if change.old is None else GONE if change.new is None else OTHER
    name = change.name.now
    if not change.part:
        verb = "new" if change.old is None else "no longer there"
        about = change.new or change.old or ""
        return Line(sign, (f"{verb}: {change.what} ", Plan(name), *((": ", Plan(about)) if about else ())))
    head: tuple[str, ...] = (f"{change.what} ", Plan(name), ", ") if name else ("",)
    if change.part == "lines" and change.old and change.new and ";" not in change.old + change.new:
        return Line(OTHER, (*head[:2], ": ", Plan(change.new), ", was ", Plan(change.old)))
    if change.part == "lines":
        gone = ("no longer ", Plan(change.old)) if change.old else ()
        come = ("now ", Plan(change.new)) if change.new else ()
        return Line(OTHER, (*head[:2], ": ", *come, *(("; ",) if gone and come else ()), *gone))
    before, after = _stated(change.old), _stated(change.new)
    return Line(OTHER, (*head, f"{change.part}: ", after, ", was ", before))


def _stated(words: str | None) -> str:
    return Plan(words) if words is not None else "not stated"


def _setting(told: Told, change: Setting) -> Line:
    sign = NEW if change.old is None else GONE if change.new is None else OTHER
    part = change.part.now
    if not change.what:
        verb = "new excursion" if change.old is None else "excursion no longer there"
        return Line(sign, (f"{verb}: {change.new or change.old}",))
    name = told.actor(part) if change.what == "crew" else Plan(part)
    if change.what == "crew" and (change.old is None or change.new is None):
        return Line(sign, (f"{name} {'joins' if change.old is None else 'leaves'} the crew",))
    head: tuple[str, ...] = (f"{change.what} ", name, ": ") if part else (f"{change.what}: ",)
    if part and (change.old is None or change.new is None):
        words = change.new or change.old or ""
        more = "" if words == _SAID else f" {words}"
        verb = "now states" if change.old is None else "no longer states"
        return Line(sign, (f"{verb} {change.what}: ", name, more))
    before, after = (_plainly(words) for words in (change.old, change.new))
    return Line(sign, (*head, after, ", was ", before))


def _rewritten(change: Rewritten) -> Line:
    where = f" ({change.task.now})" if change.task.now else ""
    head = f"{change.name.now}{where}: "
    if change.old is None or change.new is None:
        sign, verb = (NEW, "now ") if change.old is None else (GONE, "no longer ")
        return Line(sign, (head, verb, Plan(change.new or change.old or "")))
    return Line(OTHER, (head, Plan(change.new), ", was ", Plan(change.old)))


def _plainly(words: str | None) -> str:
    if words is None:
        return "none"
    return "without `until`" if words == _SAID else Plan(words)


def _task(change: TaskChanged) -> Line:
    name = change.task.now
    sort = "fallback" if change.fallback else "task"
    sign = NEW if change.old is None else GONE if change.new is None else OTHER
    if not change.what:
        verb = "new" if change.old is None else "no longer there"
        return Line(sign, (f"{verb}: {sort} ", Plan(name), f" ({change.new or change.old})"))
    if change.what == "excursion":
        return Line(
            OTHER, (f"{sort} ", Plan(name), " is in ", Plan(change.new or ""), " now, was in ", Plan(change.old or ""))
        )
    head = (f"{sort} ", Plan(name), ": ")
    if change.old is None or change.new is None:
        verb = "now" if change.old is None else "no longer"
        return Line(sign, (*head, f"{verb} {_word(change.what)}", Plan(change.new or change.old or "")))
    return Line(OTHER, (*head, _word(change.what), Plan(change.new), ", was ", Plan(change.old)))


def _word(what: str) -> str:
    return "" if what in ("rank", "bounds") else f"{what} "


def missing_lines(told: Told, missing: NotCompared) -> Iterator[str]:
    """One sentence for each side that stands in the way."""
    where = f" of {missing.excursion.now}" if missing.excursion is not None else ""
    if missing.old is not None and missing.old == missing.new:
        yield f"{missing.what.capitalize()}{where}: on both sides {missing.old}."
        return
    for side, why in (("old", missing.old), ("new", missing.new)):
        if why is not None:
            yield f"{missing.what.capitalize()}{where}: on the {side} side {why}."
