"""Which literals of rules, and which things in which count, hold otherwise without a task, and from when to when.

Only what reads a variable that differs somewhere is looked at again. Fills ``Part.literals`` and ``Part.counts``.
"""

from __future__ import annotations

from collections.abc import Iterable
from copy import copy
from typing import Any, NamedTuple

from jackstay.flow.footprints import Altered, Course, Key, Part, Span, Track
from jackstay.flow.presence import Presences
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.standing import Case, Standing, Watch, _trace
from jackstay.flow.stays import Stay
from jackstay.model.records import Test, Thing, World

Events = dict[tuple[Thing, Thing], list[Stay]]


class Literal(NamedTuple):
    """A test with its things. of: what its stays are read off: ("watch", key), ("at", thing) or ("event", actor)."""

    test: Test
    binding: tuple[Any, ...]
    of: tuple[str, Any]


class Reading:
    """A `Standing`, and what each of its literals goes by. cases: literal -> what it is part of."""

    def __init__(self, standing: Standing) -> None:
        self.standing = standing
        self.literals: dict[Key, Literal] = {}
        self.cases: dict[Key, list[tuple[Case, list[Key]]]] = {}
        self.among: dict[tuple[str, Any], list[Key]] = {}
        for case, keys in standing.cases:
            for test, key in zip(case.tests, keys, strict=True):
                self.cases.setdefault(key, []).append((case, keys))
                if key not in self.literals:
                    literal = Literal(test, case.binding, self._of(key, test, case.binding))
                    self.literals[key] = literal
                    self.among.setdefault(literal.of, []).append(key)
        self.reads: dict[tuple[str, Any], set[int]] = {}
        names: list[list[tuple[str, Any]]] = [
            [("watch", key) for key in standing.watches],
            [("at", thing) for thing in standing.whereabouts],
        ]
        _note(self.reads, names, standing.by_var, standing.carrying)
        self.by_var: dict[int, list[tuple[str, Any]]] = {}
        for of, variables in self.reads.items():
            for var in variables:
                self.by_var.setdefault(var, []).append(of)

    def _of(self, key: Key, test: Test, binding: tuple[Any, ...]) -> tuple[str, Any]:
        if test.op in ("working", "moving"):
            return "event", self._actor(test, binding)
        if key in self.standing.watches:
            return "watch", key
        placed = self.standing._placed(test, binding)
        assert placed is not None
        return "at", placed[0]

    def _actor(self, test: Test, binding: tuple[Any, ...]) -> Any:
        return self.standing.replay.judge.term(test.a, binding)

    def stays(self, key: Key, literal: Literal) -> list[Stay]:
        return self.standing._chain(literal.test, literal.binding, self.standing.watches.get(key))


class _Rest(NamedTuple):
    """As much of a replay as `standing` reads to follow literals."""

    world: World
    flow: ExcursionFlow


def reading_of(course: Course) -> Reading | None:
    """The nominal flight's, made once."""
    if course.reading is None and course.nominal.standing is not None:
        course.reading = Reading(course.nominal.standing)
    found: Reading | None = course.reading
    return found


def alter(part: Part, start: list[Any]) -> None:
    """start: the variant's values at the start. Its steps are those of its own flight, or the nominal ones without the
    task's own."""
    course, track = part.course, part.track
    nominal = reading_of(course)
    differing = [number for number in part.windows.spans if number < len(course.world.variables)]
    if track is not None:
        steps: list[Step] = track.flow.steps
        part.reading = Reading(track.standing) if track.standing is not None else None
    else:
        slots = course.nominal.slots
        steps = [step for step in course.nominal.flow.steps if slots[step.index][0] not in part.own]
        part.reading = nominal and _without_own(part, nominal, differing, start, steps)
    if (part.reading is None) != (nominal is None):
        part.losing = True  # rules are followed in one of the two only
    elif nominal is not None and part.reading is not None:
        _literals(part, nominal, part.reading, differing)
    if course.bounded:
        _counts(part, differing, start, steps)


def _without_own(part: Part, nominal: Reading, differing: list[int], start: list[Any], steps: list[Step]) -> Reading:
    """The nominal reading with those literals followed anew that read what differs; the rest is shared."""
    course, whole = part.course, nominal.standing
    again = {of for var in differing for of in nominal.by_var.get(var, ())}
    watches = {key: Watch(w.test, w.binding) for key, w in whole.watches.items() if ("watch", key) in again}
    places: dict[Thing, list[Stay]] = {thing: [] for thing in whole.whereabouts if ("at", thing) in again}
    reads = dict(nominal.reads)
    standing = copy(whole)
    if watches or places:
        flow = ExcursionFlow(course.excursion, {}, steps)
        flow.start = start
        by_var, carrying = _trace(_Rest(course.world, flow), list(watches.values()), places)  # type: ignore[arg-type]
        names: list[list[tuple[str, Any]]] = [[("watch", key) for key in watches], [("at", thing) for thing in places]]
        reads.update((name, set()) for name in (*names[0], *names[1]))
        _note(reads, names, by_var, carrying)
    standing.watches = {**whole.watches, **watches}
    standing.whereabouts = {**whole.whereabouts, **places}
    standing.stays_at = {thing: stays for thing, stays in whole.stays_at.items() if thing not in places}
    slots = course.nominal.slots

    def kept(events: Events) -> Events:
        return {
            who: [s for s in stays if s.start is not None and slots[s.start.index][0] not in part.own]
            for who, stays in events.items()
        }

    standing.working, standing.moving = kept(whole.working), kept(whole.moving)
    reading = copy(nominal)
    reading.standing, reading.reads = standing, reads
    return reading


def _note(
    reads: dict[tuple[str, Any], set[int]], names: list[list[tuple[str, Any]]], *found: dict[int, set[int]]
) -> None:
    """Enter what `_trace` says to have read each variable."""
    for group, by_var in zip(names, found, strict=True):
        for var, numbers in by_var.items():
            for n in numbers:
                reads.setdefault(group[n], set()).add(var)


def _literals(part: Part, nominal: Reading, mine: Reading, differing: list[int]) -> None:
    course = part.course
    of: dict[tuple[str, Any], None] = {}
    for reading in (nominal, mine):
        for var in differing:
            of.update(dict.fromkeys(reading.by_var.get(var, ())))
        of.update(dict.fromkeys(one for one in reading.among if one[0] == "event" and _acts(part, one[1])))
    keys: dict[Key, None] = {}
    for one in of:
        for reading in (nominal, mine):
            keys.update(dict.fromkeys(reading.among.get(one, ())))
    first, second = nominal, mine
    missing = [key for key in keys if key not in nominal.literals]
    if missing:
        first = _extended(nominal, mine, missing, course.nominal)
    missing = [key for key in keys if key not in mine.literals]
    if missing and part.track is not None:
        second = _extended(mine, nominal, missing, part.track)
    track = part.track or course.nominal
    for key in keys:
        literal = first.literals[key]
        before = [course.nominal.span(s) for s in first.stays(key, literal)]
        after = [track.span(s) for s in second.stays(key, second.literals[key])]
        reads = first.reads.get(literal.of, set()) | second.reads.get(second.literals[key].of, set())
        found = _altered(before, after, reads)
        if found is not None:
            part.literals[key] = found


def _acts(part: Part, actor: Thing) -> bool:
    """Whether a touched entry has a step of this actor, in either flight."""
    return any(
        actor in step.cast for at in part.touched for step in (*part.course.nominal.steps.get(at, ()), *part.steps(at))
    )


def _extended(reading: Reading, other: Reading, keys: list[Key], track: Track) -> Reading:
    """With literals that only the other flight has cases of, followed through this one."""
    out = copy(reading)
    standing = copy(reading.standing)
    out.standing = standing
    out.literals = {**reading.literals, **{key: other.literals[key] for key in keys}}
    out.reads = dict(reading.reads)
    literals = {key: other.literals[key] for key in keys}
    watches = {k: Watch(x.test, x.binding) for k, x in literals.items() if x.of[0] == "watch"}
    places: dict[Thing, list[Stay]] = {
        x.of[1]: [] for x in literals.values() if x.of[0] == "at" and x.of[1] not in standing.whereabouts
    }
    by_var, carrying = _trace(track.replay, list(watches.values()), places)
    _note(out.reads, [[("watch", key) for key in watches], [("at", thing) for thing in places]], by_var, carrying)
    standing.watches = {**standing.watches, **watches}
    standing.whereabouts = {**standing.whereabouts, **places}
    if not standing.working and not standing.moving:
        standing.working, standing.moving = other.standing.working, other.standing.moving
        if standing.working or standing.moving:
            from jackstay.flow.standing import note_moves, note_work

            standing.working, standing.moving = {}, {}
            note_work(track.replay, standing.working)
            note_moves(track.replay, standing.moving)
    return out


def _altered(nominal: list[Span], other: list[Span], reads: Iterable[int]) -> Altered | None:
    if nominal == other:
        return None
    before, after = set(nominal), set(other)
    points = frozenset(slot for span in before | after for slot in span[:2] if slot is not None)
    added = tuple(s for s in other if s not in before)
    return Altered(added, tuple(s for s in nominal if s not in after), points, frozenset(reads))


def _counts(part: Part, differing: list[int], start: list[Any], steps: list[Step]) -> None:
    course = part.course
    nominal = course.presences
    differ = set(differing)
    things = [thing for thing, reads in nominal.reads.items() if not differ.isdisjoint(reads)]
    mine = part.presences = Presences(course.world, nominal)
    mine.follow(start, steps, things)
    track = part.track or course.nominal
    books = dict.fromkeys((*(k for k in nominal.stays if k[0] in mine.reads), *mine.stays))
    for thing, book in books:
        before = [course.nominal.span(s) for s in nominal.stays.get((thing, book), ())]
        after = [track.span(s) for s in mine.stays.get((thing, book), ())]
        found = _altered(before, after, nominal.reads[thing] | mine.reads[thing])
        if found is not None:
            part.counts[thing, book] = found
    limiting = course.nominal.replay.laws.limiting
    variables = course.world.variables
    part.wild = frozenset(variables[v].prop for v in differing if variables[v].sort == "property") & limiting
