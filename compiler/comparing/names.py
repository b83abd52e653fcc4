"""Which name on one side means what on the other: the same name, `was OLD-NAME`, or the same business under a new name.

A rename is believed when what is done with the thing, and what is written of it, is mostly the same. Everything
here is symmetric: pairs are ranked by what both sides share, never by which side is the old one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from fractions import Fraction

from jackstay.comparing.meaning import ExcursionMeaning, Meaning, TaskMeaning, ThingMeaning, Unit
from jackstay.source.record import Entity, fresh

_WORD = re.compile(r"[A-Za-z_][\w-]*")
_ENOUGH = Fraction(1, 2)

Contexts = Counter[Hashable]


class Names(Entity):
    """From an old name to the new one, by sort. Names that are on one side only are in none of them. words: what
    else is replaced where texts are set side by side (titles, and names in clauses)."""

    things: dict[str, str] = fresh(factory=dict)
    kinds: dict[str, str] = fresh(factory=dict)
    excursions: dict[str, str] = fresh(factory=dict)
    tasks: dict[tuple[str, str], tuple[str, str]] = fresh(factory=dict)  # (excursion, task)
    words: dict[str, str] = fresh(factory=dict)
    titles: list[tuple[str, str]] = fresh(factory=list)  # of renamed things, longest first

    def within(self, excursion: str | None) -> "Names":
        """As what stands in that excursion (by its old name) is read: a task is called by its name there alone. None:
        as what stands outside all of them."""
        own = {a[1]: b[1] for a, b in self.tasks.items() if a[0] == excursion and a[1] != b[1]}
        words = {**self.own_words(), **own}
        return Names(self.things, self.kinds, self.excursions, self.tasks, words, self.titles)

    def own_words(self) -> dict[str, str]:
        """What is called otherwise everywhere: things, kinds, excursions."""
        pairs = (*self.things.items(), *self.kinds.items(), *self.excursions.items())
        return {a: b for a, b in pairs if a != b}

    def turned(self) -> Names:
        """From a new name to the old one."""
        pairs = [(b, a) for a, b in self.titles]
        return Names(
            {b: a for a, b in self.things.items()},
            {b: a for a, b in self.kinds.items()},
            {b: a for a, b in self.excursions.items()},
            {b: a for a, b in self.tasks.items()},
            {b: a for a, b in self.words.items()},
            sorted(pairs, key=lambda pair: (-len(pair[0]), pair)),
        )

    def same(self, old: str | None, new: str | None) -> bool:
        """Whether free texts say the same, but for names that are called otherwise. A word may be a name by chance:
        what has not changed at all is the same."""
        if old is None or new is None or old == new:
            return old == new
        return self.text(old) == new or self.turned().text(new) == old

    def text(self, old: str) -> str:
        """An old side's text as the new side would have written it."""
        for before, after in self.titles:
            old = re.sub(rf"(?<![\w-]){re.escape(before)}(?![\w-])", after, old)
        return _WORD.sub(lambda found: self.words.get(found[0], found[0]), old) if self.words else old

    def step(self, old: str) -> str:
        """As `text`, of a step's words: things are named there, and what stands in quotes is said as it is."""
        parts = old.split('"')
        for at in range(0, len(parts), 2):
            parts[at] = _WORD.sub(lambda found: self.things.get(found[0], found[0]), parts[at])
        return '"'.join(parts)

    def thing(self, old: str | None) -> str | None:
        return self.things.get(old, old) if old is not None else None

    def cast(self, old: Iterable[str]) -> tuple[str, ...]:
        return tuple(self.things.get(name, name) for name in old)

    def args(self, unit: Unit) -> tuple[tuple[str, str], ...]:
        return tuple((sort, self.things.get(what, what) if sort != "text" else what) for sort, what in unit.args)


def matched_names(old: Meaning, new: Meaning) -> Names:
    names = Names()
    _things(old, new, names)
    _excursions(old, new, names)
    for excursion, other in names.excursions.items():
        _tasks(_named(old.excursions, excursion), _named(new.excursions, other), names)
    _moved_tasks(old, new, names)
    order = {thing.name: at for at, thing in enumerate(old.things)}
    names.things = dict(sorted(names.things.items(), key=lambda pair: order[pair[0]]))
    names.words.update(names.own_words())
    names.words.update((a[1], b[1]) for a, b in names.tasks.items() if a[1] != b[1])
    titles = [(old.labels[a], new.labels[b]) for a, b in names.things.items() if a != b]
    names.titles = sorted((pair for pair in titles if pair[0] != pair[1]), key=lambda pair: (-len(pair[0]), pair))
    return names


def _named(excursions: Sequence[ExcursionMeaning], name: str) -> ExcursionMeaning:
    return next(one for one in excursions if one.name == name)


def likeness(one: Contexts, other: Contexts) -> Fraction:
    """What two bags have in common, of what there is in either: 0 to 1."""
    union = sum((one | other).values())
    return Fraction(sum((one & other).values()), union) if union else Fraction(0)


def best_pairs(
    olds: Sequence[str], news: Sequence[str], score: Callable[[str, str], Fraction], least: Fraction = _ENOUGH
) -> Iterator[tuple[str, str]]:
    """Pairs of at least this likeness, the most alike first, each name once."""
    ranked = [(-value, min(a, b), max(a, b), a, b) for a in olds for b in news if (value := score(a, b)) >= least]
    taken_old, taken_new = set(), set()
    for _, _, _, a, b in sorted(ranked):
        if a not in taken_old and b not in taken_new:
            taken_old.add(a)
            taken_new.add(b)
            yield a, b


# --- things and kinds -------------------------------------------------------------------------------------------------


def _things(old: Meaning, new: Meaning, names: Names) -> None:
    before = {thing.name: thing for thing in old.things}
    after = {thing.name: thing for thing in new.things}
    names.things = {name: name for name in before if name in after and before[name].sort == after[name].sort}
    lost = [name for name in before if name not in names.things]
    found = [name for name in after if name not in names.things.values()]
    _kinds(old, new, names)
    if not lost or not found:
        return
    used, uses = _uses(old), _uses(new)
    written, writes = _mentions(old), _mentions(new)

    def alike(a: str, b: str) -> Fraction:
        one, other = before[a], after[b]
        if one.sort != other.sort or names.kinds.get(one.kind, one.kind) != other.kind:
            return Fraction(0)
        declared = likeness(_declared(one), _declared(other))
        bags = [likeness(x, y) for x, y in ((used[a], uses[b]), (written[a], writes[b])) if x or y]
        return (declared + sum(bags)) / (1 + len(bags))

    names.things.update(best_pairs(lost, found, alike, Fraction(3, 5)))


def _declared(thing: ThingMeaning) -> Contexts:
    return Counter(clause for clause in thing.clauses.items() if clause[0] != "title")


def _uses(side: Meaning) -> dict[str, Contexts]:
    """What is done with each thing: task, action and slot; not the other slots, which may be renamed as well."""
    found: dict[str, Contexts] = {thing.name: Counter() for thing in side.things}

    def see(name: str | None, *context: Hashable) -> None:
        if name in found:
            found[name][context] += 1

    for excursion in side.excursions:
        for task in excursion.tasks:
            for unit in _flat(task.units):
                for at, (_, what) in enumerate(unit.args):
                    see(what, task.name, unit.verb, at)
                for actor in unit.cast:
                    see(actor, task.name, unit.verb, "cast")
                for what, name in (("place", unit.place), ("seat", unit.seat)):
                    see(name, task.name, unit.verb, what)
    return found


def _flat(units: Iterable[Unit]) -> Iterator[Unit]:
    for unit in units:
        if unit.inner:
            yield from _flat(unit.inner)
        else:
            yield unit


def _mentions(side: Meaning) -> dict[str, Contexts]:
    """Where declarations name each thing."""
    found: dict[str, Contexts] = {thing.name: Counter() for thing in side.things}
    for thing in side.things:
        for what, words in thing.clauses.items():
            for name in _WORD.findall(words):
                if name in found and what not in ("kind", "title"):
                    found[name][thing.kind, what] += 1
    for text in side.texts:
        if text.what == "path":
            for name in text.name.split(" to "):
                if name in found:
                    found[name]["path", text.lines] += 1
    return found


def _kinds(old: Meaning, new: Meaning, names: Names) -> None:
    before = {text.name: text for text in old.texts if text.what == "kind"}
    after = {text.name: text for text in new.texts if text.what == "kind"}
    names.kinds = {name: name for name in before if name in after}

    def alike(a: str, b: str) -> Fraction:
        return likeness(Counter(before[a].lines), Counter(after[b].lines))

    lost = [name for name in before if name not in after]
    names.kinds.update(best_pairs(lost, [name for name in after if name not in before], alike, Fraction(3, 5)))


# --- excursions and tasks ---------------------------------------------------------------------------------------------


def _excursions(old: Meaning, new: Meaning, names: Names) -> None:
    before = {one.name: one for one in old.excursions}
    after = {one.name: one for one in new.excursions}
    names.excursions = {name: name for name in before if name in after}

    def alike(a: str, b: str) -> Fraction:
        return likeness(Counter(t.name for t in before[a].tasks), Counter(t.name for t in after[b].tasks))

    lost = [name for name in before if name not in after]
    names.excursions.update(best_pairs(lost, [name for name in after if name not in before], alike))


def _tasks(old: ExcursionMeaning, new: ExcursionMeaning, names: Names) -> None:
    for fallback in (False, True):
        before = {task.name: task for task in old.tasks if task.fallback is fallback}
        after = {task.name: task for task in new.tasks if task.fallback is fallback}
        pairs = {name: name for name in before if name in after}
        for task in after.values():
            if task.was in before and task.was not in after and task.name not in before:
                pairs.setdefault(task.was, task.name)
        for task in before.values():  # the other way round
            if task.was in after and task.was not in before and task.name not in after:
                pairs.setdefault(task.name, task.was)
        lost = [name for name in before if name not in pairs]
        taken = set(pairs.values())
        score = _task_likeness(before, after, names)
        pairs.update(best_pairs(lost, [name for name in after if name not in taken], score))
        names.tasks.update(((old.name, a), (new.name, b)) for a, b in pairs.items())


def _moved_tasks(old: Meaning, new: Meaning, names: Names) -> None:
    """Tasks that are in another excursion now, under their name and mostly with their steps."""
    before = {(e.name, t.name): t for e in old.excursions for t in e.tasks if not t.fallback}
    after = {(e.name, t.name): t for e in new.excursions for t in e.tasks if not t.fallback}
    taken = set(names.tasks.values())
    for key, task in before.items():
        if key not in names.tasks:
            others = [o for o in after if o[1] == key[1] and o not in taken and _same_work(task, after[o], names)]
            if len(others) == 1:
                names.tasks[key] = others[0]
                taken.add(others[0])


def _same_work(one: TaskMeaning, other: TaskMeaning, names: Names) -> bool:
    return likeness(_work(one, names), _work(other, Names())) >= _ENOUGH


def _task_likeness(
    before: Mapping[str, TaskMeaning], after: Mapping[str, TaskMeaning], names: Names
) -> Callable[[str, str], Fraction]:
    def alike(a: str, b: str) -> Fraction:
        return likeness(_work(before[a], names), _work(after[b], Names()))

    return alike


def _work(task: TaskMeaning, names: Names) -> Contexts:
    return Counter((unit.verb, names.args(unit)) for unit in task.units if unit.sort != "arrival")
