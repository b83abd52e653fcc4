"""What leaving out a task changes: its footprint.

Nominal and variant are laid side by side, entry by entry. For each number that an entry may go by (see `recording`) it
is noted between which entries it differs; which entries are *touched* (they are left out, they do something else, or
they look at or change something that differs there); which literals of rules and which counts hold otherwise, and when.

Mostly no kept entry is touched at all: then the variant is the nominal flight with the task's own entries blank, and
nothing need be flown to know it (`closed`). Whether it holds is then a question of the stays that have been added:
fewer steps in the same order race no more, and what is taken away breaks no rule and fills no holder.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.flow.ends import is_out
from jackstay.flow.order import Order
from jackstay.flow.presence import Book, Presences, bounded
from jackstay.flow.recording import Drawn, Recorder, Recording, Values, aboard_number, drawn_number, ends_number
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.flow.stays import Stay
from jackstay.flow.tests import Judge
from jackstay.model.choreography import last_entries
from jackstay.model.records import Excursion, Task, Thing, World

END = 1 << 40  # the time after the last entry; the time before entry n is n

Slot = tuple[int, int]  # (an entry's place in the order, which of its steps)
Key = tuple[Any, ...]  # a literal with its things
Span = tuple[Slot | None, Slot | None, Fraction]  # a stay by slots, with its weight
Pair = tuple[Any, Any]  # a variable's value in the nominal flight, and in the variant
_NONE: frozenset[int] = frozenset()


class Altered(NamedTuple):
    """How the stays of one literal, or of one thing in one count, differ. points: all steps at which either begins or
    ends. reads: the variables that either goes by."""

    added: tuple[Span, ...]
    removed: tuple[Span, ...]
    points: frozenset[Slot]
    reads: frozenset[int]


class Windows:
    """When numbers differ: number -> (after entry, up to before entry) pairs."""

    def __init__(self) -> None:
        self.spans: dict[int, list[tuple[int, int]]] = {}

    def differs(self, number: int, time: int) -> bool:
        return any(a < time <= b for a, b in self.spans.get(number, ()))

    def meets(self, numbers: Iterable[int], time: int) -> bool:
        return any(n in self.spans and self.differs(n, time) for n in numbers)

    def within(self, numbers: Iterable[int]) -> list[tuple[int, int]]:
        return [span for n in numbers for span in self.spans.get(n, ())]


class Course:
    """One nominal excursion, laid out for comparison. place: entry index -> its place in the order of all entries."""

    def __init__(self, world: World, excursion: Excursion, flow: ExcursionFlow, replay: Recording) -> None:
        self.world = world
        self.excursion = excursion
        sequence = Order(excursion.tasks, excursion.entries).sequence
        self.place = {excursion.entries[i].index: n for n, i in enumerate(sequence)}
        for entry in excursion.entries:
            self.place.setdefault(entry.index, len(self.place))  # in a circle, where tasks exclude one another
        self.size = len(self.place)
        self.nominal = Track(self, flow, replay)
        self.bounded = bounded(world)
        self.reading: Any = None  # see `alterations`
        self.over_before: dict[tuple[int, int], bool] = {}  # whether an entry is over before another, as far as asked
        self._presences: Presences | None = None
        self._heaviest: dict[Book, dict[Thing, Fraction]] | None = None
        self._totals: dict[Book, Fraction] = {}
        self._end_reads: dict[Thing, frozenset[int]] | None = None
        self._done: list[Probe] | None = None

    @property
    def presences(self) -> Presences:
        if self._presences is None:
            self._presences = Presences(self.world)
            flow = self.nominal.flow
            things = [t for t in self.world.things if t.sort != "location"]
            self._presences.follow(flow.start, flow.steps, things if self.bounded else ())
        return self._presences

    def heaviest_in(self, book: Book) -> dict[Thing, Fraction]:
        """The things that are ever in a count or sum, each with its greatest weight."""
        if self._heaviest is None:
            self._heaviest = {}
            for (thing, same), stays in self.presences.stays.items():
                self._heaviest.setdefault(same, {})[thing] = max(stay.weight for stay in stays)
        return self._heaviest.get(book, {})

    def heaviest_total(self, book: Book) -> Fraction:
        """The sum of these."""
        if book not in self._totals:
            self._totals[book] = sum(self.heaviest_in(book).values(), Fraction(0))
        return self._totals[book]

    @property
    def end_reads(self) -> dict[Thing, frozenset[int]]:
        if self._end_reads is None:
            self._end_reads = end_reads(self.world, self.nominal.flow)
        return self._end_reads

    @property
    def done(self) -> "list[Probe]":
        if self._done is None:
            self._done = done_probes(self.nominal, frozenset())
        return self._done


class Track:
    """One flight of an excursion, by places in the order. sound: whether its entries come in that order."""

    def __init__(self, course: Course, flow: ExcursionFlow, replay: Recording) -> None:
        self.course = course
        self.flow = flow
        self.replay = replay
        place = course.place
        self.steps = {place[index]: steps for index, steps in flow.by_entry.items()}
        self.slots: list[Slot] = [(-1, 0)] * len(flow.steps)
        for at, steps in self.steps.items():
            for k, step in enumerate(steps):
                self.slots[step.index] = (at, k)
        self.sound = all(a[0] <= b[0] for a, b in zip(self.slots, self.slots[1:], strict=False))
        self.changes = {at: _changes(steps) for at, steps in self.steps.items()}
        self.reads = {place[i]: read.union(self.changes[place[i]]) for i, read in replay.read.items()}
        self.drawn = {place[i]: drawn for i, drawn in replay.drawn_after.items()}
        self.standing = replay.standing

    def slot(self, step: Step | None) -> Slot | None:
        return None if step is None else self.slots[step.index]

    def span(self, stay: Stay) -> Span:
        return self.slot(stay.start), self.slot(stay.end), stay.weight


def _changes(steps: list[Step]) -> dict[int, Pair]:
    """An entry's changes in one: variable -> (before, after)."""
    out: dict[int, Pair] = {}
    for step in steps:
        for change in step.changes:
            out[change.var] = (out[change.var][0] if change.var in out else change.before, change.after)
    return out


class Probe(NamedTuple):
    """Something that looks at the state and is no entry. times: when."""

    name: tuple[Any, ...]
    times: tuple[int, ...]
    reads: frozenset[int]


class Part:
    """A footprint in one excursion. own: the places of the entries left out. track: the variant as flown; None: the
    nominal flight without its own entries. lost: entries that may carry the order are missing; losing: the order of the
    others is another. falls: a fallback may know of it. wild: properties that limits go by and that differ."""

    def __init__(self, course: Course, own: frozenset[int], track: Track | None) -> None:
        self.course = course
        self.own = own
        self.track = track
        self.windows = Windows()
        self.touched: dict[int, frozenset[int]] = {}
        self.probes: dict[tuple[Any, ...], Probe] = {}
        self.reading: Any = None  # see `alterations`
        self.presences: Presences | None = None
        self.end: dict[int, Pair] = {}  # what differs at the end
        self.literals: dict[Key, Altered] = {}
        self.counts: dict[tuple[Thing, Book], Altered] = {}
        self.wild: frozenset[str] = frozenset()
        self.falls = False
        self.lost = False
        self.losing = False

    def steps(self, at: int) -> list[Step]:
        """What a touched entry does in the variant."""
        return self.track.steps.get(at, []) if self.track is not None else []


# --- side by side ----------------------------------------------------------------------------------------------------


class Side:
    """Walks along nominal and variant at once; fills the windows and the touched entries of a part."""

    def __init__(self, part: Part, start: Mapping[int, Pair]) -> None:
        self.part = part
        self.course = part.course
        self.values: dict[int, Pair] = dict(start)
        self.since: dict[int, int] = {}
        self.by_var: dict[int, tuple[int, ...]] = {}
        self.count: dict[int, int] = {}
        for var, (nominal, other) in start.items():
            self._open(var, nominal, other, -1)

    def walk(self) -> bool:
        """False, and no more than begun, when the variant has not been flown and a kept entry is touched."""
        part, nominal, track = self.part, self.course.nominal, self.part.track
        number = drawn_number(self.course.world)
        drawn: tuple[Drawn, Drawn] = ((), ())
        for at in range(self.course.size):
            own = at in part.own
            reads = nominal.reads.get(at, _NONE)
            if track is None:
                if not own and not self.count.keys().isdisjoint(reads):
                    return False
                changes: Mapping[int, Pair] = {} if own else nominal.changes.get(at, {})
            else:
                changes = track.changes.get(at, {})
                reads = reads | track.reads.get(at, _NONE)
                other = not _same(nominal.steps.get(at, []), track.steps.get(at, []))
                if not own and (other or not self.count.keys().isdisjoint(reads)):
                    part.touched[at] = reads
            if own:
                part.touched[at] = reads
            expected = nominal.changes.get(at, {})
            if expected or changes:
                for var in {**expected, **changes}:
                    self._change(var, expected.get(var), changes.get(var), at)
            now = nominal.drawn.get(at, ())
            mine = track.drawn.get(at, ()) if track is not None else drawn[1] if own else now
            if (now != mine) != (drawn[0] != drawn[1]):
                self._flip(number, now != mine, at)
            drawn = (now, mine)
        for still, begun in self.since.items():
            part.windows.spans.setdefault(still, []).append((begun, END))
        part.end = self.values
        return True

    def _change(self, var: int, expected: Pair | None, made: Pair | None, at: int) -> None:
        first = expected or made
        assert first is not None
        nominal, other = self.values.get(var, (first[0], first[0]))
        nominal = expected[1] if expected is not None else nominal
        other = made[1] if made is not None else other
        self._close(var, at)
        if nominal != other:
            self._open(var, nominal, other, at)
            self.values[var] = (nominal, other)
        else:
            self.values.pop(var, None)

    def _open(self, var: int, nominal: Any, other: Any, at: int) -> None:
        numbers = (var, *_holders_that_differ(self.course.world, var, nominal, other))
        self.by_var[var] = numbers
        for number in numbers:
            self.count[number] = self.count.get(number, 0) + 1
            if self.count[number] == 1 and number not in self.since:
                self.since[number] = at

    def _close(self, var: int, at: int) -> None:
        for number in self.by_var.pop(var, ()):
            self.count[number] -= 1
            if not self.count[number]:
                del self.count[number]
                self._end(number, at)

    def _flip(self, number: int, on: bool, at: int) -> None:
        if on:
            self.count[number], self.since[number] = 1, at
        else:
            del self.count[number]
            self._end(number, at)

    def _end(self, number: int, at: int) -> None:
        begun = self.since.pop(number)
        if begun < at:
            self.part.windows.spans.setdefault(number, []).append((begun, at))


def _holders_that_differ(world: World, var: int, nominal: Any, other: Any) -> list[int]:
    """The numbers of the things of which something else is aboard, or on which another line ends."""
    variable = world.variables[var]
    if variable.sort == "property":
        return []
    if variable.sort == "held":
        first, second = ({h.holder.index for h in value or ()} for value in (nominal, other))
        return sorted(aboard_number(world, holder) for holder in first ^ second)
    to_number = aboard_number if variable.sort == "place" else ends_number
    return [to_number(world, value.index) for value in (nominal, other) if value is not None]


def _same(first: list[Step], second: list[Step]) -> bool:
    """Whether an entry does the same in both flights."""
    return len(first) == len(second) and all(
        a.action is b.action
        and a.binding == b.binding
        and a.cast == b.cast
        and a.route == b.route
        and a.changes == b.changes
        for a, b in zip(first, second, strict=True)
    )


# --- what looks at the state beside the entries ----------------------------------------------------------------------


def done_probes(track: Track, gone: frozenset[Task]) -> list[Probe]:
    """The `done when` of each task: what it looks at, and when."""
    out = []
    world, replay, flow = track.course.world, track.replay, track.flow
    for number, task in enumerate(track.course.excursion.tasks):
        if not task.done_when or task in gone:
            continue
        order = replay.order
        lasts = [
            replay.main[order.at[id(e)]]
            for e in last_entries(task)
            if id(e) in order.at and order.at[id(e)] in replay.main
        ]
        if not lasts:
            continue
        moment = max(lasts)
        state = State(0)
        state.values = list(flow.start)
        for step in flow.steps[: moment + 1]:
            for change in step.changes:
                state.values[change.var] = change.after
        recorder = Recorder(world, state)
        judge = Judge(world, state, flow.excursion)
        for test in task.done_when:
            judge.holds(test, ())
        at = track.slots[moment][0]
        out.append(Probe(("done", number), (at, at + 1), frozenset(recorder.seen)))
    return out


def end_reads(world: World, flow: ExcursionFlow) -> dict[Thing, frozenset[int]]:
    """What decides whether each thing is left behind."""
    out: dict[Thing, frozenset[int]] = {}
    state = State(0)
    for thing in world.things:
        if thing.sort != "location":
            seen: set[int] = set()
            for values in (flow.start, flow.end):
                state.values = noting = Values(values)
                noting.seen = seen
                is_out(state, thing)
                state.holder_of(thing)
            out[thing] = frozenset(seen)
    return out


def probe(part: Part, gone: frozenset[Task]) -> None:
    """The probes of nominal or variant that see something else."""
    course, windows = part.course, part.windows
    found = list(course.done)
    if part.track is not None:
        found += done_probes(part.track, gone)
    reads: dict[tuple[Any, ...], Probe] = {}
    for probe in found:
        before = reads.get(probe.name)
        if before is not None:
            probe = Probe(probe.name, (*before.times, *probe.times), before.reads | probe.reads)
        reads[probe.name] = probe
    if windows.spans:
        ends = course.end_reads
        others = end_reads(course.world, part.track.flow) if part.track is not None else ends
        for thing, seen in ends.items():
            reads["end", thing.index] = Probe(("end", thing.index), (0, END), seen | others[thing])
    for probe in reads.values():
        if any(windows.meets(probe.reads, time) for time in probe.times):
            part.probes[probe.name] = probe
