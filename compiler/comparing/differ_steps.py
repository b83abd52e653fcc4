"""From matched steps to records: what is new, what is gone, what has changed about a step, and who waits for whom."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

from jackstay.comparing.matching import Match, Sides, matched_units
from jackstay.comparing.meaning import Bound, Call, ExcursionMeaning, TaskMeaning, Unit, Wait
from jackstay.comparing.names import Names
from jackstay.comparing.records import (
    CallMoved,
    Change,
    Pair,
    Renamed,
    StepAdded,
    StepChanged,
    StepDropped,
    StepMoved,
    WaitAdded,
    WaitDropped,
)
from jackstay.comparing.reordering import reordered
from jackstay.comparing.telling import bound_text, length_words, step_at

Remarks = tuple[tuple[str, str], ...]
Order = Callable[[int, int], bool]


class Steps:
    """The differences of two excursions' steps. order: whether one entry surely ends before another starts, by side;
    None where that is not known."""

    def __init__(
        self,
        old: ExcursionMeaning,
        new: ExcursionMeaning,
        names: Names,
        order: tuple[Order | None, Order | None],
        gone: tuple[frozenset[str], frozenset[str]],
    ) -> None:
        """gone: tasks that are added or dropped as a whole, by side: their steps are not told one by one."""
        self.excursion = Pair(old.name, new.name)
        self.names, self.order, self.gone = names, order, gone
        self.sides = Sides(old, new, names)
        self.matches = matched_units(self.sides)
        self.matched_old = {id(a): b for a, b in self.matches}
        self.matched_new = {id(b): a for a, b in self.matches}
        self.says = (_callers(self.sides.old), _callers(self.sides.new))
        self.calls = self._calls()
        self.heads = self._heads(self.sides.old) & self._heads(self.sides.new)

    def records(self) -> Iterator[Change]:
        yield from self._renamed_calls()
        inner: list[Match] = []
        for unit in self.sides.old:
            other = self.matched_old.get(id(unit))
            if other is None:
                if unit.task not in self.gone[0]:
                    yield StepDropped(self.excursion, step_at(unit))
            else:
                yield from self._changed(unit, other)
                if unit.inner and self.names.text(unit.text) == other.text:
                    inner += self._inside(unit, other)
        for unit in self.sides.new:
            if id(unit) not in self.matched_new and unit.task not in self.gone[1]:
                yield StepAdded(self.excursion, step_at(unit))
        yield from self._moved_calls()
        yield from self._within_routines(inner)
        yield from reordered(self.excursion, self.sides, self.matches)

    # --- one step --------------------------------------------------------------------------------------------------

    def _changed(self, old: Unit, new: Unit, inside: bool = False) -> Iterator[Change]:
        """inside: of a routine that both sides call alike."""
        step = Pair(step_at(old), step_at(new))

        def moved(what: str, before: str | None, after: str | None) -> Change:
            return StepMoved(self.excursion, step, what, before, after)

        def changed(what: str, before: str | None, after: str | None) -> Change:
            return StepChanged(self.excursion, step, what, before, after)

        names = self.names
        if not inside and self.sides.task(old) != self.sides.task(new):
            yield moved("task", old.task, new.task)
        if old.sort == "routine":
            if names.text(old.text) != new.text:
                yield changed("words", old.text, new.text)
        else:
            if names.cast(old.doers) != new.doers:
                yield moved("actor", _list(old.doers), _list(new.doers))
            elif set(names.cast(old.cast)) != set(new.cast):
                yield changed("with", _list(old.cast), _list(new.cast))
            if names.thing(old.place) != new.place and old.place is not None and new.place is not None:
                yield moved("place", old.place, new.place)
            if names.thing(old.seat) != new.seat:
                yield moved("seat", old.seat, new.seat)
            if names.args(old) != new.args:
                yield changed("words", old.text, new.text)
            if names.cast(old.riders) != new.riders:
                yield changed("riders", _list(old.riders), _list(new.riders))
        if old.lengths != new.lengths:
            yield changed("duration", length_words(old.lengths), length_words(new.lengths))
        heading = old.first or new.first  # what the heading says is told of the first step under it
        if heading and old.way != new.way:
            yield changed("way time", length_words(old.way), length_words(new.way))
        if not names.same(old.expect, new.expect):
            yield changed("expect", old.expect, new.expect)
        yield from self._sets(changed, old, new)
        if not names.same(old.because, new.because):
            yield changed("because", old.because, new.because)
        yield from self._waits(old, new, step)

    def _sets(self, changed: Callable[..., Change], old: Unit, new: Unit) -> Iterator[Change]:
        """What there may be several of: calls, bounds, remarks, answers."""
        calls = {name: self.calls.get(Call(old.task, name)) for name in old.says}
        here = {Call(new.task, name) for name in new.says}
        for name, call in calls.items():
            if call is None:
                yield changed("call", name, None)
        called = set(self.calls.values())
        for call in sorted(here - called):
            yield changed("call", None, call.name)
        bounds = [*old.head_bounds, *old.bounds] if old.first or new.first else list(old.bounds)
        before = [Bound(b.sort, b.text, self._call(b.call)) for b in bounds]
        after = [*new.head_bounds, *new.bounds] if old.first or new.first else list(new.bounds)
        yield from _differences(before, after, lambda b: b.sort, bound_text, changed, bounds, after)
        yield from self._remarks(changed, old.remarks, new.remarks)
        answers = [(outcome, self.names.text(then)) for outcome, then in old.answers]
        yield from _differences(
            answers, list(new.answers), lambda a: f"if {a[0]}", lambda a: a[1], changed, old.answers, new.answers
        )

    def _remarks(self, changed: Callable[..., Change], old: Remarks, new: Remarks) -> Iterator[Change]:
        """A remark that is a caution now and was a warning is the same remark."""
        if len(old) == len(new) and old != new and sorted(old) == sorted(new):
            yield changed("order of remarks", *("; ".join(text for _, text in side) for side in (old, new)))
        lost, found = list(old), list(new)
        for sort in (True, False):  # first those that are remarks of one sort
            for one in list(lost):
                same = next((o for o in found if (o[0] == one[0] or not sort) and self.names.same(one[1], o[1])), None)
                if same is not None:
                    lost.remove(one)
                    found.remove(same)
                    if not sort:
                        yield changed("remark", f"{one[0]}: {one[1]}", f"{same[0]}: {same[1]}")
        yield from _differences(lost, found, lambda r: r[0], lambda r: r[1], changed, lost, found)

    # --- calls and waits -------------------------------------------------------------------------------------------

    def _calls(self) -> dict[Call, Call]:
        """Old calls -> the new ones that are the same: said by the same step, or else by the same name."""
        found: dict[Call, Call] = {}
        for old, new in self.matches:
            kept = [name for name in old.says if name in new.says]
            for name in kept:
                found[Call(old.task, name)] = Call(new.task, name)
        taken = set(found.values())
        for call, unit in self.says[0].items():
            task = self.sides.task(unit)
            same = Call(task[1], call.name)
            if call not in found and same in self.says[1] and same not in taken:
                found[call] = same
                taken.add(same)
        for old, new in self.matches:
            lost = [name for name in old.says if Call(old.task, name) not in found]
            fresh = [name for name in new.says if Call(new.task, name) not in taken]
            for a, b in zip(lost, fresh, strict=False):
                found[Call(old.task, a)] = Call(new.task, b)
                taken.add(Call(new.task, b))
        return found

    def _call(self, call: Call | None) -> Call | None:
        return self.calls.get(call, call) if call is not None else None

    def _heads(self, units: Sequence[Unit]) -> set[tuple[Any, ...]]:
        """What headings wait for, and whose in which task."""
        return {self._head(unit, wait) for unit in units for wait in unit.head}

    def _head(self, unit: Unit, wait: Wait) -> tuple[Any, ...]:
        old = id(unit) in self.sides.olds
        call = self.calls.get(wait.call, wait.call) if old else wait.call
        return self.sides.task(unit), self.sides.cast(unit)[:1], wait.how, call

    def _renamed_calls(self) -> Iterator[Change]:
        for old, new in self.calls.items():
            if old.name != new.name:
                yield Renamed(self.excursion, "call", Pair(old.name, new.name))

    def _moved_calls(self) -> Iterator[Change]:
        for old, new in self.calls.items():
            before, after = self.says[0][old], self.says[1][new]
            if self.matched_old.get(id(before)) is not after:
                yield CallMoved(self.excursion, Pair(old.name, new.name), Pair(step_at(before), step_at(after)))

    def _waits(self, old: Unit, new: Unit, step: Pair) -> Iterator[Change]:
        was, now = (one.head if old.first or new.first else () for one in (old, new))
        before = {(wait.how, self.calls.get(wait.call, wait.call)): wait for wait in (*was, *old.waits)}
        after = {(wait.how, wait.call): wait for wait in (*now, *new.waits)}
        for key, wait in before.items():
            if key not in after:
                caller, same = self._caller(wait.call, 0), None
                other = self.matched_old.get(id(self.says[0].get(wait.call)))
                if other is not None and wait.how == "on":
                    same = self._before(1, other, new)
                if same and wait.heading and self._head(old, wait) in self.heads:
                    continue  # another heading of the same task still waits for it, and that is as good
                yield WaitDropped(self.excursion, step, wait.how, wait.call.name, caller, same)
        for key, wait in after.items():
            if key not in before:
                caller, same = self._caller(wait.call, 1), None
                other = self.matched_new.get(id(self.says[1].get(wait.call)))
                if other is not None and wait.how == "on":
                    same = self._before(0, other, old)
                if same and wait.heading and self._head(new, wait) in self.heads:
                    continue
                yield WaitAdded(self.excursion, step, wait.how, wait.call.name, caller, same)
        for key, wait in before.items():
            other_wait = after.get(key)
            if other_wait is not None and other_wait.heading != wait.heading:
                at = [_where(one) for one in (wait, other_wait)]
                yield StepChanged(self.excursion, step, f"wait for {other_wait.call.name}", *at)

    def _caller(self, call: Call, side: int) -> Pair:
        """Who calls, on the side where it is waited for; under that side's name."""
        unit = self.says[side].get(call)
        unit = _calling(unit, call.name) if unit is not None else None
        who = (unit.doers or unit.cast)[0] if unit is not None and unit.cast else None
        return Pair(who, None) if side == 0 else Pair(None, who)

    def _before(self, side: int, first: Unit, second: Unit) -> bool | None:
        order = self.order[side]
        if order is None or first.index < 0 or second.index < 0 or first.sort == "routine":
            return None
        return order(first.index, second.index)

    # --- routines whose text has changed under the same call -------------------------------------------------------

    def _inside(self, old: Unit, new: Unit) -> list[Match]:
        return [(old, new)] if tuple(map(_bare, old.inner)) != tuple(map(_bare, new.inner)) else []

    def _within_routines(self, pairs: list[Match]) -> Iterator[Change]:
        for old, new in pairs:
            first, second = [list(unit.inner) for unit in (old, new)]
            sides = Sides(
                _stand_in(self.excursion.old, old, first), _stand_in(self.excursion.new, new, second), self.names
            )
            found = matched_units(sides)
            olds, news = {id(a) for a, _ in found}, {id(b) for _, b in found}
            for unit in first:
                if id(unit) not in olds:
                    yield StepDropped(self.excursion, step_at(unit))
            for a, b in found:
                yield from self._changed(a, b, inside=True)
            for unit in second:
                if id(unit) not in news:
                    yield StepAdded(self.excursion, step_at(unit))


def _stand_in(name: str, unit: Unit, inner: list[Unit]) -> ExcursionMeaning:
    return ExcursionMeaning(name, "", {}, (TaskMeaning(unit.task, unit.index < 0, None, {}, tuple(inner)),), None)


def _bare(unit: Unit) -> tuple[Any, ...]:
    """All of a unit but where it stands."""
    skipped = {"index", "at", "task"}
    return tuple(getattr(unit, field) for field in Unit.__match_args__ if field not in skipped)


def _callers(units: Sequence[Unit]) -> dict[Call, Unit]:
    return {Call(unit.task, name): unit for unit in units for name in unit.says}


def _calling(unit: Unit, name: str) -> Unit:
    """Of a routine, the step that makes the call."""
    return next((_calling(one, name) for one in unit.inner if name in one.says), unit)


def _differences(
    before: list[Any],
    after: list[Any],
    what: Callable[[Any], str],
    words: Callable[[Any], str],
    changed: Callable[..., Change],
    told_before: Sequence[Any],
    told_after: Sequence[Any],
) -> Iterator[Change]:
    """Of two short lists: what is on one side only, paired where it is of one sort. told: as each side writes it."""
    lost = [raw for raw, seen in zip(told_before, before, strict=True) if seen not in after]
    found = [raw for raw, seen in zip(told_after, after, strict=True) if seen not in before]
    for one in lost:
        other = next((new for new in found if what(new) == what(one)), None)
        if other is not None:
            found.remove(other)
        yield changed(what(one), words(one), words(other) if other is not None else None)
    for other in found:
        yield changed(what(other), None, words(other))


def _where(wait: Wait) -> str:
    return "before going there" if wait.heading else "when there"


def _list(names: Sequence[str]) -> str | None:
    return " and ".join(names) or None
