"""The campaign without some tasks: flown anew where that makes a difference, and the footprint that it leaves."""

from __future__ import annotations

from bisect import bisect_left
from typing import Any

from jackstay.flow.alterations import alter
from jackstay.flow.dropping import Flight, Fly, StartAfter
from jackstay.flow.ends import is_out
from jackstay.flow.footprints import Course, Pair, Part, Probe, Side, Track, probe
from jackstay.flow.independence import Footprint, limit_of, within_limit
from jackstay.flow.promises import stated
from jackstay.flow.recording import Recording
from jackstay.flow.state import State
from jackstay.flow.stays import Stay, apart, heaviest
from jackstay.model.records import Const, Excursion, Guard, Task, Test, Thing, World


class Campaign:
    """The nominal flights, and how to fly others. sound: excursions without findings that come first."""

    def __init__(
        self, world: World, flights: dict[Excursion, Flight], sound: set[Excursion], fly: Fly, start_after: StartAfter
    ) -> None:
        self.world = world
        self.flights = flights
        self.sound = sound
        self.fly = fly
        self.start_after = start_after
        self.courses: dict[Excursion, Course] = {}

    def without(self, gone: frozenset[Task]) -> dict[Excursion, Flight]:
        """The excursions that are, or may be, flown otherwise."""
        out: dict[Excursion, Flight] = {}
        for excursion in self.world.excursions:
            if excursion not in self.sound:
                continue
            nominal = self.flights[excursion]
            before = out.get(excursion.previous) if excursion.previous is not None else None
            start = self.start_after(excursion, before, gone) if before is not None else nominal.start
            same = start is nominal.start or start.values == nominal.start.values
            if not same or any(t.excursion is excursion for t in gone) or is_guarded(excursion, gone):
                out[excursion] = self.fly(excursion, start, gone)
        return out

    def course(self, excursion: Excursion) -> Course:
        found = self.courses.get(excursion)
        if found is None:
            flight = self.flights[excursion]
            assert isinstance(flight.replay, Recording)
            found = self.courses[excursion] = Course(self.world, excursion, flight.flow, flight.replay)
        return found

    # --- footprints --------------------------------------------------------------------------------------------------

    def footprint(
        self, gone: frozenset[Task], flown: dict[Excursion, Flight], of: tuple[frozenset[Task], ...]
    ) -> Footprint:
        """Of tasks without which these excursions have been flown otherwise."""
        parts: dict[Excursion, Part] = {}
        for excursion, flight in flown.items():
            course, nominal = self.course(excursion), self.flights[excursion]
            parts[excursion] = part = Part(course, _own(course, gone), None)
            if not isinstance(flight.replay, Recording):
                part.losing = True
                continue
            part.track = track = Track(course, flight.flow, flight.replay)
            pairs = enumerate(zip(nominal.start.values, flight.start.values, strict=True))
            start = {var: (a, b) for var, (a, b) in pairs if a != b}
            lost = _lost(course, track)
            part.lost = bool(lost)
            part.losing = not track.sound or not course.nominal.sound or not _same_order(course, track, lost)
            Side(part, start).walk()
            part.falls = _falls(part, gone)
            for task in excursion.tasks:
                if task.guard is not None and names(task.guard, excursion, gone):
                    for entry in task.entries:
                        at = course.place[entry.index]
                        part.touched[at] = course.nominal.reads.get(at, frozenset()) | track.reads.get(at, frozenset())
            probe(part, gone)
            self._promise(part, gone)
            alter(part, list(flight.start.values))
        return Footprint(gone, parts, of)

    def closed(self, gone: frozenset[Task], of: tuple[frozenset[Task], ...]) -> Footprint | None:
        """The footprint of tasks that no kept entry knows of and whose absence surely breaks nothing; None if it is not
        as plain as that."""
        parts: dict[Excursion, Part] = {}
        for excursion in self.world.excursions:
            if excursion not in self.sound:
                continue
            if is_guarded(excursion, gone):
                return None
            start = self._closed_start(excursion, parts, gone)
            if start is None:
                return None
            own = any(task.excursion is excursion for task in gone)
            if not start and not own:
                continue
            course = self.course(excursion)
            if not course.nominal.sound:
                return None
            parts[excursion] = part = Part(course, _own(course, gone), None)
            if not Side(part, start).walk() or _falls(part, gone):
                return None
            probe(part, gone)
            if not self._ends_well(part, start):
                return None
            self._promise(part, gone)
            values = list(course.nominal.flow.start)
            for var, (_, other) in start.items():
                values[var] = other
            alter(part, values)
            if part.losing or part.wild or not _keeps(part):
                return None
        return Footprint(gone, parts, of)

    def _closed_start(
        self, excursion: Excursion, parts: dict[Excursion, Part], gone: frozenset[Task]
    ) -> dict[int, Pair] | None:
        """What differs at the start; None where that takes flying."""
        before = parts.get(excursion.previous) if excursion.previous is not None else None
        if before is None:
            return {}
        if excursion.starts != "promise":
            return dict(before.end)
        if before.windows.spans and any(before.windows.differs(n, 0) for n in before.windows.spans):
            return None
        assert excursion.previous is not None
        promised = self.start_after(excursion, self.flights[excursion.previous], gone).values
        nominal = self.flights[excursion].start.values
        return {var: (a, b) for var, (a, b) in enumerate(zip(nominal, promised, strict=True)) if a != b}

    def _ends_well(self, part: Part, start: dict[int, Pair]) -> bool:
        """Whether nothing that is seen at the end, or when a task is done, is otherwise; or nothing left behind."""
        if not part.probes:
            return True
        if any(name[0] != "end" for name in part.probes):
            return False
        flow = part.course.nominal.flow
        first, last = State(0), State(0)
        first.values, last.values = list(flow.start), list(flow.end)
        for state, pairs in ((first, start), (last, part.end)):
            for var, (_, other) in pairs.items():
                state.values[var] = other
        named = {left.thing for left in flow.excursion.left_outside}
        for _, index in part.probes:
            thing = self.world.things[index]
            if is_out(last, thing) and not is_out(first, thing) and thing not in named:
                return False
        return True

    def _promise(self, part: Part, gone: frozenset[Task]) -> None:
        """What is no longer promised to an excursion that starts from a promise of this one."""
        excursion = part.course.excursion
        if not any(e.previous is excursion and e.starts == "promise" for e in self.world.excursions):
            return
        kept = set(map(id, stated(excursion, gone)))
        for test in stated(excursion, frozenset()):
            if id(test) not in kept:
                name = ("promise", test.a.index if isinstance(test.a, Thing) else -1)
                part.probes[name] = Probe(name, (0,), _variables(test))
                if test.value is not None and not isinstance(test.value, Const):
                    part.losing = True


def _variables(test: Test) -> frozenset[int]:
    thing = test.a
    assert isinstance(thing, Thing)
    own = (thing.place_var, thing.held_var, thing.from_var, thing.to_var, *thing.prop_vars.values())
    return frozenset(var for var in own if var >= 0)


def _falls(part: Part, gone: frozenset[Task]) -> bool:
    """Whether a fallback may begin in a state that it does not begin in nominally, or goes on with less. (Where these
    leave everything as they found it, it finds what it finds when they are over.)"""
    fallbacks = part.course.excursion.fallbacks
    if not fallbacks:
        return False
    lasting = any(over not in part.own for spans in part.windows.spans.values() for _, over in spans)
    return lasting or any(not gone.isdisjoint(one.then) for one in fallbacks)


def _own(course: Course, gone: frozenset[Task]) -> frozenset[int]:
    return frozenset(course.place[e.index] for t in gone if t.excursion is course.excursion for e in t.entries)


def _lost(course: Course, track: Track) -> set[int]:
    """The entries that several take part in and that have no step for one of them any more, or that are not there at
    all: what comes before and after them may be in another order."""
    out = set()
    for at, steps in course.nominal.steps.items():
        others = track.steps.get(at)
        cast = {actor for step in steps for actor in step.cast}
        if others is None or (len(cast) > 1 and not cast <= {actor for step in others for actor in step.cast}):
            out.add(at)
    return out


def _same_order(course: Course, track: Track, lost: set[int]) -> bool:
    """Whether what comes surely before what is the same among all other entries."""
    return _over(course.nominal, track, lost) == _over(track, course.nominal, lost)


def _over(track: Track, other: Track, lost: set[int]) -> dict[tuple[int, Thing], int]:
    """For each entry with steps in both flights, and each actor: the last such entry of the actor that is surely over
    when it begins."""
    kept = [at for at in sorted(track.steps) if at not in lost and track.steps[at] and other.steps.get(at)]
    ends: dict[Thing, list[tuple[int, int]]] = {}
    for at in kept:
        last: dict[int, int] = {}
        for step in track.steps[at]:
            last.update(step.positions)
        for actor, column in track.flow.columns.items():
            if column in last:
                ends.setdefault(actor, []).append((last[column], at))
    out = {}
    for at in kept:
        clock = track.steps[at][0].clock
        for actor, over in ends.items():
            n = bisect_left(over, (clock[track.flow.columns[actor]], -1))
            if n:
                out[at, actor] = over[n - 1][1]
    return out


def names(guard: Guard, excursion: Excursion, gone: frozenset[Task]) -> bool:
    """Whether a guard speaks of one of these tasks."""
    for test in guard.tests:
        head, dot, rest = (test.prop or "").partition(".")
        of, name = (head, rest) if dot else (excursion.name, head)
        if test.op == "done" and any(t.name == name and t.excursion.name == of for t in gone):
            return True
    return False


def is_guarded(excursion: Excursion, gone: frozenset[Task]) -> bool:
    return any(task.guard is not None and names(task.guard, excursion, gone) for task in excursion.tasks)


# --- what has not been flown -----------------------------------------------------------------------------------------


def _keeps(part: Part) -> bool:
    """Whether the stays that have been added break no rule and no need, and exceed no bound."""
    reading = part.reading
    for key, alteration in part.literals.items():
        for case, keys in reading.cases.get(key, ()) if alteration.added else ():
            if not _case_holds(part, reading, key, case, keys):
                return False
    books = {book: None for (_, book), alteration in part.counts.items() if alteration.added}
    return all(within_limit(part.course, book, (part,)) or _count_holds(part, book) for book in books)


def _case_holds(part: Part, reading: Any, key: Any, case: Any, keys: list[Any]) -> bool:
    """Whether some other literal of the case never meets an added stay of this one."""
    track, alteration = part.course.nominal, part.literals[key]
    added = [s for s in reading.stays(key, reading.literals[key]) if track.span(s) in alteration.added]
    others = [reading.stays(k, reading.literals[k]) for k in keys if k != key]
    if case.step is not None:
        running = [] if track.slots[case.step.index][0] in part.own else [Stay(case.step, case.step)]
        others.append(running)
    return any(all(apart(s, t) for s in added for t in other) for other in others)


def _count_holds(part: Part, book: Any) -> bool:
    course = part.course
    assert part.presences is not None
    stays: list[Stay] = []
    for (thing, same), found in course.presences.stays.items():
        if same == book and thing not in part.presences.reads:
            stays += found
    for (_, same), found in part.presences.stays.items():
        if same == book:
            stays += found
    bound = course.presences.books.get(book) or part.presences.books[book]
    limit = limit_of(course, *bound)
    return limit is not None and heaviest(stays)[0] <= limit
