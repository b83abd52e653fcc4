"""Droppable tasks that do not know of one another.

Two sets of tasks are *independent* when

1. no entry is touched by both, and none of one goes by what differs because of the other (see `footprints`);
2. no step that one touches races with one that the other touches, or moves a point of a line of which the other moves
   one, in no order;
3. in no count stays that the one adds meet stays that the other adds, nor are their changes of one thing there in no
   order;
4. the same of each rule in each of its cases, and of each need about a whole kind;
5. neither changes the order of what is kept, and at most one takes away entries that might carry it;
6. in no excursion with fallbacks both leave something otherwise than they found it, or are of what a fallback goes on
   with: what a fallback goes by is not asked, it is flown without each set.

Proof that sets which are independent, each of each, do together what each does alone. Take the entries one by one, and
let the state differ from the nominal by the sum of the sets' differences; these concern different variables, since an
entry at which two came to differ in one variable would be touched by both. An entry that none touches sees nominal
values and does what it does nominally. One that a set touches sees that set's values in all that it goes by there (1),
and does what it does when that set alone is missing. So the sum remains. Beside the entries stand the probes (`done
when`, the end, promises), which go by values in the same way. What spans steps holds too: a race is between two steps,
each done as in some variant, and either both as in one or (2) ordered. Where stays are too many or meet, exchange those
that several sets have made longer by those of a single one: the changes of one literal are ordered (3, 4), so one of
the pieces meets all that the whole stay met; and no two of the rest come from different sets. So it would be found with
that set missing alone.

Sets are needed, not only tasks: of two tasks that do the same, either alone may be left out without a trace, and both
not. So from tasks alone the unions of any two sets that depend on one another are looked at too, and unions with these,
until there are no more. Then every set of tasks falls apart into sets that have been looked at and are independent:
begin with its tasks, and put together what depends on one another.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable
from fractions import Fraction
from heapq import heappop, heappush
from itertools import pairwise
from typing import Any, NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.footprints import Altered, Course, Key, Part, Slot, Span, Windows
from jackstay.flow.lengths import bears_on, measured, writers_of
from jackstay.flow.records import Step
from jackstay.model.records import AnyOf, Carry, Excursion, Task, Thing


class Footprint(NamedTuple):
    """What dropping these tasks changes, excursion by excursion. of: what they are the union of: tasks, each with what
    goes only with it."""

    gone: frozenset[Task]
    parts: dict[Excursion, Part]
    of: tuple[frozenset[Task], ...]


_ZERO = Fraction(0)
Condition = Callable[["Together"], bool]


class Together:
    """Two footprints in one excursion."""

    def __init__(self, a: Part, b: Part) -> None:
        self.course: Course = a.course
        self.a = a
        self.b = b
        self.tracks = [a.course.nominal, *(p.track for p in (a, b) if p.track is not None)]

    def ways(self) -> Iterable[tuple[Part, Part]]:
        return (self.a, self.b), (self.b, self.a)

    # --- order -------------------------------------------------------------------------------------------------------

    def before(self, first: Slot | None, second: Slot | None) -> bool:
        """Whether the first step is surely over when the second begins, in either variant."""
        if first is None or second is None:
            return False
        if first[0] == second[0]:
            return first[1] < second[1]
        if len(self.tracks) > 1:
            return self._entry_before(first, second)
        known = self.course.over_before  # of the nominal flight, the same for every two that have not been flown
        key = (first[0], second[0])
        if key not in known:
            known[key] = self._entry_before(first, second)
        return known[key]

    def _entry_before(self, first: Slot, second: Slot) -> bool:
        return any(track.steps.get(first[0]) and track.steps.get(second[0]) for track in self.tracks) and all(
            _all_before(track.steps.get(first[0], []), track.steps.get(second[0], [])) for track in self.tracks
        )

    def apart(self, s: Span, t: Span) -> bool:
        return self.before(s[1], t[0]) or self.before(t[1], s[0])

    def meeting(self, added: Iterable[Span], others: Iterable[Span]) -> bool:
        return any(not self.apart(s, t) for s in added for t in others)

    def in_order(self, a: Altered, b: Altered) -> bool:
        """Whether all changes of one literal are ordered."""
        points = sorted(a.points | b.points)
        return all(self.before(x, y) for x, y in pairwise(points))


def _all_before(first: list[Step], second: list[Step]) -> bool:
    return not first or not second or all(happens_before(step, second[0]) for step in first)


def _overlap(reads: Iterable[int], a: Windows, b: Windows) -> bool:
    """Whether two of these variables differ at one time, one because of either."""
    reads = list(reads)
    first, second = a.within(reads), b.within(reads)
    return any(s[0] < t[1] and t[0] < s[1] for s in first for t in second)


# --- the conditions --------------------------------------------------------------------------------------------------


def touch(two: Together) -> bool:
    """Condition 1 is broken."""
    for one, other in two.ways():
        for at, reads in one.touched.items():
            if at in other.touched or other.windows.meets(reads, at):
                return True
        for name, probe in one.probes.items():
            if name in other.probes or any(other.windows.meets(probe.reads, time) for time in probe.times):
                return True
            if name[0] == "done" and any(
                change.var in probe.reads for at in other.touched for s in other.steps(at) for change in s.changes
            ):
                return True
    return False


def race(two: Together) -> bool:
    """Condition 2 is broken."""
    first, second = _accesses(two.a), _accesses(two.b)
    for var, ones in first.items():
        for s, writes in ones:
            for t, also_writes in second.get(var, ()):
                if (writes or also_writes) and not two.before(s, t) and not two.before(t, s):
                    return True
    return bool(first and second) and _stretch(two)


def _stretch(two: Together) -> bool:
    """Whether each touches a step that moves a point of one line, and nothing orders the two. A line spans what no one
    variable says, so that neither of the steps need read what the other changes."""
    flights = {id(track.flow): track.flow for track in two.tracks}.values()
    lines = measured(two.course.world)
    writers = [writers_of(flow) for flow in flights] if lines else []
    for line in lines:
        variables, _ = bears_on([flow.start for flow in flights], writers, line)
        variables[line.prop_vars.get(line.kind.length or "", -1)] = None
        first, second = (_moving(part, variables) for part in (two.a, two.b))
        if any(not two.before(s, t) and not two.before(t, s) for s in first for t in second):
            return True
    return False


def _moving(part: Part, variables: Container[int]) -> list[Slot]:
    """The touched steps that change one of these variables, in the variant."""
    return [
        (at, k)
        for at in part.touched
        for k, step in enumerate(part.steps(at))
        if any(change.var in variables for change in step.changes)
    ]


def _accesses(part: Part) -> dict[int, list[tuple[Slot, bool]]]:
    """variable -> the touched steps that read or (True) write it, in the variant."""
    out: dict[int, list[tuple[Slot, bool]]] = {}
    if part.track is None:
        return out
    astray = {step.index for step, _, _ in part.track.replay.astray}
    for at in part.touched:
        for k, step in enumerate(part.steps(at)):
            written = {change.var for change in step.changes}
            written.update(seat.held_var for seat in step.moved_seats)
            read = {*step.reads, *(seat.held_var for seat in step.left_seats)}
            if step.index in astray or any(isinstance(one, AnyOf) for one in step.entry.binding):
                read |= part.touched[at]
            for var in written | read:
                out.setdefault(var, []).append(((at, k), var in written))
    return out


def count(two: Together) -> bool:
    """Condition 3 is broken."""
    for one, other in two.ways():
        for book in {book for _, book in other.counts}:
            bound = _bound(two, book)
            goes_by = {getattr(bound, "limit", None), getattr(bound, "counting", None)}
            if not one.wild.isdisjoint(goes_by):
                return True
    for (thing, book), a in two.a.counts.items():
        for (another, same), b in two.b.counts.items():
            if book != same or within_limit(two.course, book, (two.a, two.b)):
                continue
            if thing is another:
                weights = {span[2] for one in (a, b) for span in (*one.added, *one.removed)}
                if len(weights) > 1 or not two.in_order(a, b):
                    return True
            elif two.meeting(a.added, b.added):
                return True
    for one, other in two.ways():
        for (_, book), alteration in one.counts.items():
            together = _overlap(alteration.reads, one.windows, other.windows)
            if together and not within_limit(two.course, book, (one, other)):
                return True
    return False


def _bound(two: Together, book: Any) -> Any:
    for presences in (two.course.presences, two.a.presences, two.b.presences):
        if presences is not None and book in presences.books:
            return presences.books[book][1]
    raise KeyError(book)


def within_limit(course: Course, book: Any, parts: Iterable[Part]) -> bool:
    """Whether all that is ever there, each with its greatest weight, would keep the bound."""
    heaviest, total = course.heaviest_in(book), course.heaviest_total(book)
    more: dict[Thing, Fraction] = {}
    holder_bound = course.presences.books.get(book)
    for part in parts:
        assert part.presences is not None
        holder_bound = holder_bound or part.presences.books.get(book)
        for (thing, same), alteration in part.counts.items():
            if same == book:
                for span in alteration.added:
                    most = more.get(thing) or heaviest.get(thing, _ZERO)
                    if span[2] > most:
                        total += span[2] - most
                        more[thing] = span[2]
    assert holder_bound is not None
    limit = limit_of(course, *holder_bound)
    return limit is not None and total <= limit


def limit_of(course: Course, holder: Thing, bound: Any) -> Fraction | None:
    """A bound's limit, the least that it is in the nominal flight."""
    if isinstance(bound, Carry):
        return bound.limit.value
    if not isinstance(bound.limit, str):
        return Fraction(bound.limit)
    var = holder.prop_vars.get(bound.limit, -1)
    been = course.nominal.replay.laws.been.get(var, [])
    value = course.nominal.flow.start[var] if var >= 0 else holder.values.get(bound.limit)
    return min([*been, value]) if isinstance(value, Fraction) else None


def rule(two: Together) -> bool:
    """Condition 4 is broken."""
    for one, other in two.ways():
        for key, a in one.literals.items():
            b = other.literals.get(key)
            reads = a.reads | (b.reads if b is not None else frozenset())
            if _overlap(reads, one.windows, other.windows):
                return True
            if b is not None and not two.in_order(a, b):
                return True
            if a.added and _meets_in_a_case(two, key, a, other):
                return True
    return False


def _meets_in_a_case(two: Together, key: Key, a: Altered, other: Part) -> bool:
    for reading in (two.course.reading, two.a.reading, two.b.reading):
        for case, keys in reading.cases.get(key, ()) if reading is not None else ():
            for another in keys:
                b = other.literals.get(another) if another != key else None
                if b is not None and two.meeting(a.added, b.added):
                    return True
            if case.step is not None:
                at = two.course.place[case.step.entry.index]
                if at in other.touched and other.steps(at):
                    running: Span = ((at, 0), (at, len(other.steps(at)) - 1), Fraction(1))
                    if two.meeting(a.added, [running]):
                        return True
    return False


CONDITIONS: tuple[Condition, ...] = (touch, race, count, rule)


def _other_order(a: Footprint, b: Footprint) -> bool:
    """Condition 5 is broken."""
    first, second = list(a.parts.values()), list(b.parts.values())
    if any(part.losing for part in (*first, *second)):
        return True
    return any(part.lost for part in first) and any(part.lost for part in second)


def dependent(a: Footprint, b: Footprint) -> bool:
    """Whether two sets may know of one another. Where a part of one goes with the other anyway, that is the matter of
    the sets without it."""
    if any(one <= b.gone for one in a.of) or any(one <= a.gone for one in b.of):
        return False
    if a.gone & b.gone or _other_order(a, b):
        return True
    if any(part.falls and e in b.parts and b.parts[e].falls for e, part in a.parts.items()):
        return True  # condition 6
    both = [Together(part, b.parts[e]) for e, part in a.parts.items() if e in b.parts]
    return any(condition(two) for condition in CONDITIONS for two in both)


class Groups:
    """Tasks that chains of dependences join, and how many sets of each group have been looked at."""

    def __init__(self) -> None:
        self.leader: dict[frozenset[Task], frozenset[Task]] = {}
        self.sets: dict[frozenset[Task], int] = {}

    def find(self, one: frozenset[Task]) -> frozenset[Task]:
        while self.leader.setdefault(one, one) is not one:
            one = self.leader[one]
        return one

    def join(self, of: Iterable[frozenset[Task]]) -> frozenset[Task]:
        """Make one group of these; returns its leader."""
        first, *others = dict.fromkeys(self.find(one) for one in of)
        for other in others:
            self.leader[other] = first
            self.sets[first] = self.sets.get(first, 0) + self.sets.pop(other, 0)
        return first

    def members(self, leader: frozenset[Task]) -> list[frozenset[Task]]:
        return [one for one in self.leader if self.find(one) is leader]


def explore(
    alone: list[Footprint], look: Callable[[frozenset[Task], tuple[frozenset[Task], ...]], Footprint], most: int
) -> list[list[frozenset[Task]]]:
    """Look at every set of tasks that is not known to do what parts of it do: from tasks alone, the unions of any two
    sets that depend on one another, the smaller ones first. Returns the groups of tasks that have more than so many."""
    groups = Groups()
    seen: dict[frozenset[Task], Footprint] = {}
    waiting: list[tuple[int, int, frozenset[Task], tuple[frozenset[Task], ...]]] = []
    asked: set[frozenset[Task]] = {footprint.gone for footprint in alone}
    too_many: set[frozenset[Task]] = set()

    def add(footprint: Footprint) -> None:
        for other in seen.values():
            if not dependent(other, footprint):
                continue
            of = (*other.of, *footprint.of)
            groups.join(of)
            gone = other.gone | footprint.gone
            if gone not in asked:
                asked.add(gone)
                heappush(waiting, (len(of), len(asked), gone, of))
        seen[footprint.gone] = footprint

    for footprint in alone:
        groups.sets[groups.find(footprint.gone)] = 1
        add(footprint)
    while waiting:
        _, _, gone, of = heappop(waiting)
        leader = groups.join(of)
        if groups.sets[leader] >= most or leader in too_many:
            too_many.add(leader)
            continue
        groups.sets[leader] += 1
        add(look(gone, of))
    return [groups.members(leader) for leader in dict.fromkeys(groups.find(one) for one in too_many)]
