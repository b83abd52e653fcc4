"""What is declared, and the lines of excursions and tasks: differences as records."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from jackstay.comparing.meaning import ExcursionMeaning, Meaning, TaskMeaning, Text
from jackstay.comparing.names import Names
from jackstay.comparing.records import Change, Declared, Pair, Renamed, Setting, TaskChanged
from jackstay.model.words import title_of


def renamed(old: Meaning, names: Names) -> Iterator[Change]:
    sorts = {thing.name: thing.sort for thing in old.things}
    for before, after in names.things.items():
        if before != after:
            yield Renamed(None, sorts[before], Pair(before, after))
    for before, after in names.kinds.items():
        if before != after:
            yield Renamed(None, "kind", Pair(before, after))
    for before, after in names.excursions.items():
        if before != after:
            yield Renamed(None, "excursion", Pair(before, after))


def declared(old: Meaning, new: Meaning, names: Names) -> Iterator[Change]:
    if not names.same(old.title, new.title):
        yield Declared("campaign", Pair("", ""), "title", old.title, new.title)
    yield from _flown(old, new, names)
    before = {thing.name: thing for thing in old.things}
    after = {thing.name: thing for thing in new.things}
    for name, thing in before.items():
        other = after.get(names.things.get(name, ""))
        if other is None:
            yield Declared(thing.sort, Pair(name, None), "", _told(thing.clauses), None)
            continue
        titles = thing.clauses["title"], other.clauses["title"]
        told = titles[0] == titles[1] or _renamed_title(*titles, (name, other.name))
        yield from _clauses(
            thing.sort, Pair(name, other.name), thing.clauses, other.clauses, names, {"title"} if told else set()
        )
    kept = set(names.things.values())
    for name, thing in after.items():
        if name not in kept:
            yield Declared(thing.sort, Pair(None, name), "", None, _told(thing.clauses))
    yield from _texts(old, new, names)


def _flown(old: Meaning, new: Meaning, names: Names) -> Iterator[Change]:
    before = [one.name for one in old.excursions if one.name in names.excursions]
    after = [one.name for one in new.excursions if one.name in names.excursions.values()]
    if [names.excursions[name] for name in before] != after:
        yield Declared("campaign", Pair("", ""), "order of excursions", ", ".join(before), ", ".join(after))


def _told(clauses: Mapping[str, str]) -> str:
    return ", ".join([clauses["kind"], *(clauses[what] for what in ("at first", "ends") if what in clauses)])


def _clauses(
    what: str, name: Pair, old: Mapping[str, str], new: Mapping[str, str], names: Names, but: set[str]
) -> Iterator[Change]:
    for part in dict.fromkeys((*old, *new)):
        before, after = old.get(part), new.get(part)
        if part not in but and (names.text(before) if before is not None else None) != after:
            yield Declared(what, name, part, before, after)


def _texts(old: Meaning, new: Meaning, names: Names) -> Iterator[Change]:
    def keyed(texts: Sequence[Text], side: int) -> dict[tuple[str, str, int], Text]:
        """Two files may each have one of a name."""
        seen: Counter[tuple[str, str]] = Counter()
        found = {}
        for text in texts:
            at = key(text, side)
            found[(*at, seen[at])] = text
            seen[at] += 1
        return found

    def key(text: Text, side: int) -> tuple[str, str]:
        name = names.text(text.name) if side == 0 else text.name
        if text.what == "path":
            name = " to ".join(sorted(name.split(" to ")))
        return text.what, name

    before, after = keyed(old.texts, 0), keyed(new.texts, 1)
    for at, text in before.items():
        other = after.get(at)
        if other is None:
            yield Declared(text.what, Pair(text.name, None), "", "; ".join(text.lines), None)
            continue
        seen = [names.text(line) for line in text.lines]
        gone, come = _without(text.lines, seen, other.lines), _without(other.lines, other.lines, seen)
        name = Pair(text.name, other.name)
        if gone or come:
            yield Declared(text.what, name, "lines", "; ".join(gone) or None, "; ".join(come) or None)
        elif tuple(seen) != other.lines:
            yield Declared(text.what, name, "order of lines", "; ".join(text.lines), "; ".join(other.lines))
    for at, text in after.items():
        if at not in before:
            yield Declared(text.what, Pair(None, text.name), "", None, "; ".join(text.lines))


def _without(raw: Sequence[str], lines: Sequence[str], others: Sequence[str]) -> list[str]:
    """What stands in a text oftener than in the other."""
    left = Counter(others)
    found = []
    for written, line in zip(raw, lines, strict=True):
        if left[line] > 0:
            left[line] -= 1
        else:
            found.append(written)
    return found


def _renamed_title(old: str, new: str, names: tuple[str, str]) -> bool:
    """Whether titles differ as the names do that they are made from."""
    return names[0] != names[1] and (old, new) == (title_of(names[0]), title_of(names[1]))


def settings(old: ExcursionMeaning, new: ExcursionMeaning, names: Names) -> Iterator[Change]:
    """Its own lines. A part that names a thing is the same part under the thing's new name."""
    pair = Pair(old.name, new.name)
    seen = {(what, names.text(part)): (part, words) for (what, part), words in old.settings.items()}
    for (what, part), (raw, words) in seen.items():
        after = new.settings.get((what, part))
        if what == "title" and after is not None:
            if words != after and not _renamed_title(words, after, (old.name, new.name)):
                yield Setting(pair, what, Pair(raw, part), words, after)
        elif names.text(words) != after:
            yield Setting(pair, what, Pair(raw, part if after is not None else None), words, after)
    for (what, part), words in new.settings.items():
        if (what, part) not in seen:
            yield Setting(pair, what, Pair(None, part), None, words)


def tasks(old: ExcursionMeaning, new: ExcursionMeaning, names: Names) -> Iterator[Change]:
    """Tasks and fallbacks: whole ones, renamed ones, and what their lines say."""
    pair = Pair(old.name, new.name)
    after = {task.name: task for task in new.tasks}
    known = {b: a for a, b in names.tasks.items()}
    for task in old.tasks:
        where, name = names.tasks.get((old.name, task.name), (None, None))
        if where is None:
            yield TaskChanged(pair, Pair(task.name, None), task.fallback, "", _steps(task), None)
        elif where == new.name and name is not None:
            yield from task_lines(pair, task, after[name], names)
    for task in new.tasks:
        if (new.name, task.name) not in known:
            yield TaskChanged(pair, Pair(None, task.name), task.fallback, "", None, _steps(task))


def _steps(task: TaskMeaning) -> str:
    """A task in short: ``required, 5 steps by teal``."""
    steps = [unit for unit in task.units if unit.sort != "arrival"]
    who = list(dict.fromkeys(actor for unit in steps for actor in unit.doers))
    rank = "".join(f"{rank}, " for rank in task.lines.get("rank", ()))
    return f"{rank}{len(steps)} step{'' if len(steps) == 1 else 's'}" + (f" by {', '.join(who)}" if who else "")


def task_lines(pair: Pair, old: TaskMeaning, new: TaskMeaning, names: Names) -> Iterator[Change]:
    name = Pair(old.name, new.name)
    if old.name != new.name:
        yield Renamed(pair, "fallback" if old.fallback else "task", name)
    for what in dict.fromkeys((*old.lines, *new.lines)):
        before, after = old.lines.get(what, ()), new.lines.get(what, ())
        if what == "title":
            if before != after and not _renamed_title(before[0], after[0], (old.name, new.name)):
                yield TaskChanged(pair, name, old.fallback, what, before[0], after[0])
            continue
        if tuple(names.text(line) for line in before) != after:
            yield TaskChanged(pair, name, old.fallback, what, ", ".join(before) or None, ", ".join(after) or None)
