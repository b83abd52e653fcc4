"""Which step on one side is which on the other, within two excursions that belong together.

First what is the same in the same task, in order; then what is the same elsewhere; then, best likeness first, what is
done by the same action with something changed. Ties are broken alike in both directions: sides are set in an order of
their own before they are matched (`turned`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterator, Sequence

from jackstay.comparing.alignment import common, in_turn
from jackstay.comparing.meaning import ExcursionMeaning, Unit
from jackstay.comparing.names import Names

Key = Callable[[Unit], Hashable]
Match = tuple[Unit, Unit]


class Sides:
    """The units of both sides, the old ones seen under their new names. excursion: old name, new name."""

    def __init__(self, old: ExcursionMeaning, new: ExcursionMeaning, names: Names) -> None:
        self.names = names
        self.old = [unit for task in old.tasks for unit in task.units]
        self.new = [unit for task in new.tasks for unit in task.units]
        self._excursion = (old.name, new.name)
        self.olds = {id(unit) for unit in self.old}
        self._fallbacks = {
            **{(True, task.name): task.fallback for task in old.tasks},
            **{(False, task.name): task.fallback for task in new.tasks},
        }
        self.turned = _fingerprint(self.old) > _fingerprint(self.new)

    def task(self, unit: Unit) -> tuple[str, str]:
        """(excursion, task) on the new side; of an old task that is gone, its old name."""
        if id(unit) in self.olds:
            key = (self._excursion[0], unit.task)
            return self.names.tasks.get(key, ("", unit.task))
        return (self._excursion[1], unit.task)

    def nominal(self, unit: Unit) -> bool:
        """Whether it is flown by the plan as written, not in a fallback."""
        return not self._fallbacks[id(unit) in self.olds, unit.task]

    def _of(self, unit: Unit) -> Names:
        return self.names if id(unit) in self.olds else _SAME

    def cast(self, unit: Unit) -> tuple[str, ...]:
        return self._of(unit).cast(unit.cast)

    def args(self, unit: Unit) -> Hashable:
        return self._of(unit).args(unit)

    def place(self, unit: Unit) -> Hashable:
        return self._of(unit).thing(unit.place), self._of(unit).thing(unit.seat)


_SAME = Names()


def _fingerprint(units: Sequence[Unit]) -> tuple[int, list[str]]:
    """Something to order two sides by, whichever is called old."""
    return len(units), [f"{unit.task} {unit.cast} {unit.text} {unit.place} {unit.says} {unit.waits}" for unit in units]


def matched_units(sides: Sides) -> list[Match]:
    """Pairs (old, new) in the order of the old side."""
    first, second = (sides.new, sides.old) if sides.turned else (sides.old, sides.new)
    pairs: dict[int, tuple[Unit, Unit]] = {}
    taken: set[int] = set()

    def take(one: Unit, other: Unit) -> None:
        pairs[id(one)] = (one, other)
        taken.add(id(other))

    def left() -> tuple[list[Unit], list[Unit]]:
        return [u for u in first if id(u) not in pairs], [u for u in second if id(u) not in taken]

    def same(unit: Unit) -> Hashable:
        return unit.verb, sides.cast(unit), sides.args(unit)

    def aligned(by: Key, key: Key, how: Callable[..., list[tuple[int, int]]]) -> None:
        groups: defaultdict[Hashable, tuple[list[Unit], list[Unit]]] = defaultdict(lambda: ([], []))
        for side, units in enumerate(left()):
            for unit in units:
                groups[by(unit)][side].append(unit)
        for ones, others in groups.values():
            for i, j in how([key(u) for u in ones], [key(u) for u in others]):
                take(ones[i], others[j])

    def whole(unit: Unit) -> Hashable:
        return same(unit), sides.place(unit), unit.says

    aligned(sides.task, whole, lambda ones, others: common(ones, others, _alike))
    aligned(sides.task, same, in_turn)
    aligned(sides.nominal, whole, in_turn)
    aligned(sides.nominal, same, in_turn)
    neighbours = _Neighbours(first, second, pairs)
    for one, other in _likely(sides, neighbours, *left()):
        take(one, other)
    made = [pairs[id(unit)] for unit in first if id(unit) in pairs]
    if sides.turned:
        at = {id(unit): index for index, unit in enumerate(sides.old)}
        made = sorted(((b, a) for a, b in made), key=lambda pair: at[id(pair[0])])
    return made


def _alike(one: tuple[object, ...], other: tuple[object, ...]) -> int:
    """Of two that are the same step, what else is the same: where it is done, and what is called after it."""
    return 4 + 2 * (one[1] == other[1]) + (one[2] == other[2]) if one[0] == other[0] else 0


class _Neighbours:
    """Whether what stands beside two units is already matched with one another."""

    def __init__(self, first: Sequence[Unit], second: Sequence[Unit], pairs: dict[int, tuple[Unit, Unit]]) -> None:
        self.at = {id(u): i for units in (first, second) for i, u in enumerate(units)}
        self.first, self.second, self.pairs = first, second, pairs

    def count(self, one: Unit, other: Unit) -> int:
        found = 0
        for step in (-1, 1):
            i, j = self.at[id(one)] + step, self.at[id(other)] + step
            if 0 <= i < len(self.first) and 0 <= j < len(self.second):
                pair = self.pairs.get(id(self.first[i]))
                found += pair is not None and pair[1] is self.second[j]
        return found


def _likely(sides: Sides, near: _Neighbours, ones: list[Unit], others: list[Unit]) -> Iterator[Match]:
    """Steps by the same action with something else about them, best first, each once."""
    by_verb: defaultdict[Hashable, list[Unit]] = defaultdict(list)
    for other in others:
        by_verb[sides.nominal(other), other.verb].append(other)
    ranked = []
    for one in ones:
        for other in by_verb[sides.nominal(one), one.verb]:
            score = _score(sides, one, other)
            if score > 0:
                i, j = near.at[id(one)], near.at[id(other)]
                ranked.append((-score - near.count(one, other), abs(i - j), i, j, one, other))
    taken: set[int] = set()
    for *_, one, other in sorted(ranked, key=lambda row: row[:4]):
        if id(one) not in taken and id(other) not in taken:
            taken |= {id(one), id(other)}
            yield one, other


def _score(sides: Sides, one: Unit, other: Unit) -> int:
    """0: they are not the same step. What is done to what counts most, then who does it, where, and in which task."""
    mine, theirs = sides.args(one), sides.args(other)
    assert isinstance(mine, tuple) and isinstance(theirs, tuple)
    same_things = mine == theirs
    shared = sum(a == b for a, b in zip(mine, theirs, strict=False))
    cast, others = set(sides.cast(one)), set(sides.cast(other))
    same_task = sides.task(one) == sides.task(other)
    same_call = bool(set(one.says) & set(other.says))
    if one.sort == "arrival":
        same_things = sides.place(one) == sides.place(other)
        if not (same_things or (cast == others and same_task)):
            return 0
    elif one.sort == "routine" and same_task and 2 * shared >= max(len(mine), len(theirs)):
        pass  # the same call with another word in it, perhaps another actor's
    elif not same_things:
        enough = 2 * shared >= max(len(mine), len(theirs)) or same_call
        if not (cast & others and same_task and enough) and not (same_call and same_task):
            return 0
    elif not mine and not (cast & others or same_call):
        return 0  # nothing is said of it but who does it
    elif not (cast & others or same_task or same_call):
        return 0
    score: int = 8 * same_things + 2 * shared + 4 * (cast == others) + 2 * bool(cast & others)
    here = bool(sides.place(one) == sides.place(other))
    return score + 3 * same_task + 3 * same_call + here + 1
