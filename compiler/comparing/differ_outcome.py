"""What follows from what is written: ends, custody, packing, the critical chain, times, supplies, the way home."""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Iterator

from jackstay.comparing.meaning import Critical, ExcursionMeaning, Outcome
from jackstay.comparing.names import Names
from jackstay.comparing.records import (
    ChainChanged,
    Change,
    CustodyChanged,
    EndChanged,
    Figure,
    FigureChanged,
    PaceChanged,
    PackChanged,
    Pair,
    StepAt,
)

Known = dict[tuple[str, str], tuple[str | None, str | None]]


def outcome_changes(
    old: ExcursionMeaning,
    new: ExcursionMeaning,
    names: Names,
    known: Known,
    same: list[tuple[int, int]],
    entries: dict[int, int],
) -> Iterator[Change]:
    """known: how ends differed at the end of the excursion before, brought up to date. same: entries that are the same
    steps and say nothing of their length on either side. entries: old ones that are steps, and the new ones that are
    the same."""
    if old.outcome is None or new.outcome is None:
        return
    pair = Pair(old.name, new.name)
    yield from _ends(pair, old.outcome, new.outcome, names, known)
    yield from _custody(pair, old.outcome, new.outcome, names)
    yield from _packed(pair, old.outcome, new.outcome, names)
    yield from _critical(pair, old.outcome, new.outcome, names, entries)
    yield from _figures(pair, old.outcome, new.outcome, names)
    yield from _paces(pair, old.outcome, new.outcome, same)


def _ends(pair: Pair, old: Outcome, new: Outcome, names: Names, known: Known) -> Iterator[Change]:
    """A difference that was there when the excursion began, and is the same at its end, is not told again. A thing that
    is only on one side differs by being there, which is told where it is declared."""
    seen = {(names.thing(thing) or thing, part): (thing, words) for (thing, part), words in old.ends.items()}
    here = {thing for thing, _ in seen} & {thing for thing, _ in new.ends}
    now: Known = {}
    for key in dict.fromkeys((*seen, *new.ends)):
        thing, words = seen.get(key, (None, None))
        after = new.ends.get(key)
        if (names.step(words) if words is not None else None) != after and key[0] in here:
            now[key] = (words, after)
            if known.get(key) != (words, after):
                yield EndChanged(pair, Pair(thing or _before(key[0], names), key[0]), key[1], words, after)
    known.clear()
    known.update(now)


def _before(name: str, names: Names) -> str:
    return next((a for a, b in names.things.items() if b == name), name)


def _custody(pair: Pair, old: Outcome, new: Outcome, names: Names) -> Iterator[Change]:
    for item, stays in old.custody.items():
        name = names.things.get(item, "")
        after = new.custody.get(name)
        moves = len(stays) > 1 or len(after or ()) > 1  # else it is where it was left, which is told there
        if after is not None and moves and tuple(map(names.step, stays)) != after:
            yield CustodyChanged(pair, Pair(item, name), stays, after)


def _packed(pair: Pair, old: Outcome, new: Outcome, names: Names) -> Iterator[Change]:
    seen = {(names.thing(item) or item, way): (item, who) for (item, way), who in old.packed.items()}
    for (item, way), (raw, who) in seen.items():
        after = new.packed.get((item, way))
        if names.thing(who) != after:
            yield PackChanged(pair, Pair(raw, names.things.get(raw)), way, who, after)
    back = {b: a for a, b in names.things.items()}
    for (item, way), who in new.packed.items():
        if (item, way) not in seen:
            yield PackChanged(pair, Pair(back.get(item), item), way, None, who)


def _critical(pair: Pair, old: Outcome, new: Outcome, names: Names, entries: dict[int, int]) -> Iterator[Change]:
    """What comes onto the chain and what leaves it; in which order it is there follows from the rest."""
    kept = set(entries.values())
    before: list[Hashable] = [
        entries[one.entry] if one.entry in entries else (names.cast(one.who), names.step(one.words))
        for one in old.critical
    ]
    after: list[Hashable] = [one.entry if one.entry in kept else (one.who, one.words) for one in new.critical]
    gone, come = _without(old.critical, before, after), _without(new.critical, after, before)
    if gone or come:
        was, now = ({one.task for one in side.critical} for side in (old, new))
        seen = {names.tasks.get((pair.old, task), ("", task))[1]: task for task in sorted(was)}
        through = Pair(
            tuple(
                dict.fromkeys(one.task for one in gone if one.task not in {seen[task] for task in seen if task in now})
            ),
            tuple(dict.fromkeys(one.task for one in come if one.task not in seen)),
        )
        yield ChainChanged(pair, through, gone, come)


def _without(steps: tuple[Critical, ...], keys: list[Hashable], others: list[Hashable]) -> tuple[StepAt, ...]:
    left = Counter(others)
    found = []
    for step, key in zip(steps, keys, strict=True):
        if left[key] > 0:
            left[key] -= 1
        else:
            found.append(_step(step))
    return tuple(found)


def _step(one: Critical) -> StepAt:
    return StepAt(one.task, one.who, one.words, None, None, (), (), one.at)


def _figures(pair: Pair, old: Outcome, new: Outcome, names: Names) -> Iterator[Change]:
    seen = {(names.thing(actor) or "", what): (actor, figure) for (actor, what), figure in old.figures.items()}
    back = {b: a for a, b in names.things.items()}
    for key in dict.fromkeys((*seen, *new.figures)):
        actor, what = key
        raw, before = seen.get(key, (back.get(actor, actor), None))
        after = new.figures.get(key)
        if before == after or (before and after and before[1] == after[1] and key != ("", "end")):
            continue  # a difference smaller than what is printed is only told of the end as a whole
        who = Pair(raw, actor) if actor else None
        yield FigureChanged(pair, who, what, Figure(*before) if before else None, Figure(*after) if after else None)


def _paces(pair: Pair, old: Outcome, new: Outcome, same: list[tuple[int, int]]) -> Iterator[Change]:
    found: dict[tuple[str, str, str], int] = {}
    for i, j in same:
        before, after = old.paces.get(i), new.paces.get(j)
        if before is not None and after is not None and before[0] == after[0] and before[1] != after[1]:
            key = (before[0], before[1], after[1])
            found[key] = found.get(key, 0) + 1
    for (verb, was, now), count in sorted(found.items()):
        yield PaceChanged(pair, verb, count, was, now)
