"""Dynamic controllability: can a plan be kept whatever the uncontrolled durations turn out to be?

A `Link` is a duration that nature chooses, seen only when it ends. A network is dynamically controllable if its other
points can be chosen as time goes by, each from what has ended by then, so that every constraint holds. What has ended
may be acted upon at the same moment. Points are numbered from 0; amounts are whole ticks (`int`) or `Fraction`.

`conflict_by_waits` decides it in cubic time at most: Morris, Dynamic controllability and dispatchability relationships,
CPAIOR 2014. Each link is split at its least duration, so that its end is at the split or up to the spread later. From
each point that something must come some time after, the distance is followed backwards, over the arcs that allow some
time (one that nature makes short only while less than nothing is left), until it is not below nothing: that is a new
plain arc. Meeting a point again that is still being worked at is a cycle that no strategy keeps.

Where the only maxima are deadlines from the origin, everything being as long as it can is the worst nature can do:
`missed_deadline` decides that in linear time.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from heapq import heappop, heappush
from typing import Any, NamedTuple, TypeAlias

from jackstay.timing.network import Amount, Clash, Constraint, Network, clash

PLAIN, LEAST, MOST = "plain", "least", "most"


class Link(NamedTuple):
    """``end`` comes ``least`` to ``most`` after ``start``, as nature likes; ``0 <= least <= most``."""

    start: int
    end: int
    least: Amount
    most: Amount
    tag: Hashable = None


class Part(NamedTuple):
    """One member of a `Conflict`. what: ``plain`` (of is a `Constraint`), or ``least`` or ``most``: the `Link` takes
    that long. times: how often the cycle goes over it; as a rule once."""

    what: str
    of: Constraint | Link
    times: int

    @property
    def amount(self) -> Amount:
        """What it adds to the cycle each time: a constraint its maximum, a link its least or less its most."""
        if self.what == PLAIN:
            return self.of.most
        assert isinstance(self.of, Link)
        return self.of.least if self.what == LEAST else -self.of.most


class Conflict(NamedTuple):
    """Why a network is not controllable: these constraints with these links alone, all else left out, are not.

    parts: in the order of the cycle, each once. short_by: how much less than nothing the cycle adds up to, counting
    each part its ``times``: the sum of ``times * amount`` is ``-short_by``."""

    parts: tuple[Part, ...]
    short_by: Amount

    @property
    def tags(self) -> tuple[Hashable, ...]:
        """The tags of the maxima in it, ``most > 0``: deadlines and windows; each once, without None."""
        return tuple(dict.fromkeys(one.of.tag for one in self.parts if _maximum(one.of)))

    @property
    def links(self) -> tuple[tuple[Link, str], ...]:
        """The links in it, each with the bound at which it does harm: ``least`` or ``most``."""
        return tuple((one.of, one.what) for one in self.parts if isinstance(one.of, Link))


class Uncertain:
    """A simple temporal network with uncontrolled links.

    points: how many. origin: the point that deadlines count from. Raises ValueError for a point that there is not, a
    link whose numbers are out of order or below 0, and a link that ends where another does, at its own start, or at the
    origin."""

    __slots__ = ("constraints", "links", "origin", "points")

    def __init__(
        self, points: int, constraints: Iterable[Constraint] = (), links: Iterable[Link] = (), origin: int = 0
    ) -> None:
        self.points = points
        self.constraints = Network(points, constraints, origin).constraints
        self.links: tuple[Link, ...] = tuple(links)
        self.origin = origin
        ends: set[int] = set()
        for one in self.links:
            if not (0 <= one.start < points and 0 <= one.end < points):
                raise ValueError(f"link from {one.start} to {one.end} of {points} points")
            if not 0 <= one.least <= one.most:
                raise ValueError(f"link of {one.least} to {one.most}")
            if one.end in ends or one.end in (one.start, origin):
                raise ValueError(f"a link cannot end at point {one.end}")
            ends.add(one.end)


def conflict(uncertain: Uncertain) -> Conflict | None:
    """Why the network is not dynamically controllable; None if it is. Takes the shorter way where there is one."""
    return missed_deadline(uncertain) if only_deadlines(uncertain) else conflict_by_waits(uncertain)


def conflict_by_waits(uncertain: Uncertain) -> Conflict | None:
    """The same for any network, by Morris's algorithm. The tags of its maxima are irreducible: were one of them gone,
    the other parts of the conflict would be controllable."""
    found = _Back(uncertain).conflict()
    if found is None:
        return None
    for tag in found.tags:
        if tag in found.tags:
            constraints = [one.of for one in found.parts if isinstance(one.of, Constraint)]
            trial = [one for one in constraints if not (_maximum(one) and one.tag == tag)]
            links = dict.fromkeys(one.of for one in found.parts if isinstance(one.of, Link))
            found = _Back(Uncertain(uncertain.points, trial, links, uncertain.origin)).conflict() or found
    return found


def only_deadlines(uncertain: Uncertain) -> bool:
    """Whether all maxima count from the origin and no minimum holds back a point that nature chooses."""
    ends = {one.end for one in uncertain.links}
    return all(
        one.most >= 0 if one.source == uncertain.origin else one.most <= 0 and one.source not in ends
        for one in uncertain.constraints
    )


def missed_deadline(uncertain: Uncertain) -> Conflict | None:
    """A deadline that the longest durations miss, with the chain that does it, the one that is late by most; None if
    they meet all of them, and then the network is dynamically controllable: starting everything as soon as may be
    keeps it. Raises ValueError unless `only_deadlines` holds."""
    if not only_deadlines(uncertain):
        raise ValueError("not only deadlines from the origin")
    longest = [Constraint(one.end, one.start, -one.most, one) for one in uncertain.links]
    plain = [Constraint(one.source, one.target, one.most, one) for one in uncertain.constraints]
    found = clash(Network(uncertain.points, longest + plain, uncertain.origin), _is_deadline)
    return None if found is None else _of_clash(found)


def _is_deadline(one: Constraint) -> bool:
    return isinstance(one.tag, Constraint) and _maximum(one.tag)


def _of_clash(found: Clash) -> Conflict:
    parts: list[Part] = []
    for one in found.cycle:
        assert isinstance(one.tag, (Constraint, Link))
        parts.append(Part(MOST if isinstance(one.tag, Link) else PLAIN, one.tag, 1))
    return Conflict(tuple(parts), found.short_by)


def _maximum(one: Constraint | Link) -> bool:
    return isinstance(one, Constraint) and one.most > 0 and one.tag is not None


# What a derived arc stands for: (first, rest), rest None at its end. What is first is a way itself, or (what, of).
Way: TypeAlias = "tuple[Any, Any]"
SPLIT = ("", None)  # between a link's start and its split: what it adds is counted with the link's two bounds


class _Frame(NamedTuple):
    """A point being worked at. distance: from other points to it, ways: how they reach it. queue: those below nothing
    that are still to be followed; at: the one that is looked at."""

    source: int
    distance: dict[int, Amount]
    ways: dict[int, Way]
    queue: list[tuple[Amount, int]]
    at: list[int]


class _Back:
    """into[p]: the arcs into p that are not below 0, by the point they come from, each the least known; below[p]: those
    that are below 0. short[p]: where nature may end a link at p, its split, and the way from there."""

    def __init__(self, uncertain: Uncertain) -> None:
        size = uncertain.points + len(uncertain.links)
        self.into: list[dict[int, tuple[Amount, Way]]] = [{} for _ in range(size)]
        self.below: list[list[tuple[int, Amount, Way]]] = [[] for _ in range(size)]
        self.short: dict[int, tuple[int, Way]] = {}
        self.done = bytearray(size)
        for one in uncertain.constraints:
            self._arc(one.source, one.target, one.most, (PLAIN, one))
        for split, link in enumerate(uncertain.links, uncertain.points):
            if link.least == link.most:
                self._arc(link.start, link.end, link.least, (LEAST, link))
                self._arc(link.end, link.start, -link.most, (MOST, link))
                continue
            self._arc(link.start, split, link.least, SPLIT)
            self._arc(split, link.start, -link.least, SPLIT)
            self._arc(link.end, split, link.least - link.most, (MOST, link))
            self.short[link.end] = (split, (LEAST, link))

    def _arc(self, source: int, target: int, most: Amount, way: Way) -> None:
        if most < 0:
            self.below[target].append((source, most, way))
        elif source not in self.into[target] or most < self.into[target][source][0]:
            self.into[target][source] = (most, way)

    def conflict(self) -> Conflict | None:
        for point, below in enumerate(self.below):
            if below and not self.done[point]:
                found = self._work(point)
                if found is not None:
                    return found
        return None

    def _work(self, root: int) -> Conflict | None:
        """Work at ``root``, and first at each point below nothing that is met on the way."""
        stack = [self._begin(root)]
        open_points = {root}
        while stack:
            frame = stack[-1]
            met = self._follow(frame)
            if met is None:
                stack.pop()
                open_points.discard(frame.source)
                self.done[frame.source] = 1
            elif met in open_points:
                return _conflict(stack, met)
            else:
                stack.append(self._begin(met))
                open_points.add(met)
        return None

    def _begin(self, source: int) -> _Frame:
        frame = _Frame(source, {}, {}, [], [])
        for point, most, way in self.below[source]:
            if point not in frame.distance or most < frame.distance[point]:
                frame.distance[point] = most
                frame.ways[point] = (way, None)
                heappush(frame.queue, (most, point))
        return frame

    def _follow(self, frame: _Frame) -> int | None:
        """Go on from a frame until it is done (None), or until a point is met that has to be worked at before."""
        source, distance, ways, queue, at = frame
        while queue:
            length, point = queue[0]
            if length > distance[point]:
                heappop(queue)
                continue
            if self.below[point] and not self.done[point]:
                at[:] = [point]
                return point
            heappop(queue)
            behind = ways[point]
            for other, (most, way) in self.into[point].items():
                there = length + most
                if other not in distance or there < distance[other]:
                    distance[other] = there
                    ways[other] = (way, behind)
                    if there < 0:
                        heappush(queue, (there, other))
            split, way = self.short.get(point, (source, SPLIT))
            # What nature does with a link when it is long does not help against the same link when it is short.
            if split != source and (split not in distance or length < distance[split]):
                distance[split] = length
                ways[split] = (way, behind)
                heappush(queue, (length, split))
        for point, length in distance.items():
            if length >= 0:
                self._arc(point, source, length, ways[point])
        return None


def _conflict(stack: list[_Frame], met: int) -> Conflict:
    """The cycle from ``met`` back to itself through the points that are being worked at."""
    whole: Way | None = None
    for frame in stack:
        if whole is not None or frame.source == met:
            whole = (frame.ways[frame.at[0]], whole)
    parts = tuple(Part(what, of, times) for (what, of), times in _counted(whole) if what)
    return Conflict(parts, -sum(one.times * one.amount for one in parts))


def _counted(whole: Way | None) -> list[tuple[Way, int]]:
    """What a way consists of, in the order in which each first comes, with how often it comes. Ways are shared and may
    unfold to more than can be told, so each is counted once and handed on to what it is made of."""
    left: list[Way] = []  # each way after all that it is made of
    leaves: dict[int, Way] = {}
    seen: set[int] = set()
    stack: list[tuple[Way | None, bool]] = [(whole, False)]
    while stack:
        way, ready = stack.pop()
        if way is None:
            continue
        if ready:
            left.append(way)
        elif id(way) not in seen:
            seen.add(id(way))
            if isinstance(way[0], str):
                leaves[id(way)] = way
            else:
                stack += [(way, True), (way[1], False), (way[0], False)]
    counts = {id(whole): 1}
    for way in reversed(left):
        for part in way:
            if part is not None:
                counts[id(part)] = counts.get(id(part), 0) + counts[id(way)]
    return [(leaf, counts[key]) for key, leaf in leaves.items()]
