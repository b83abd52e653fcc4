"""Simple temporal networks: points in time, and at most so much from one to another.

Points are numbered ``0 .. points - 1``. A constraint says ``time[target] - time[source] <= most``; a minimum ("at least
so much later") is one with a negative ``most`` the other way round, an order one with 0. Amounts are whole ticks
(`int`), or `Fraction`; never floats. Dechter, Meiri and Pearl, Temporal constraint networks, Artificial Intelligence
49 (1991).

Minima mostly have no circle, so one pass in their order finds the longest paths; what a maximum asks for is raised, and
what hangs on it passed again (Liao and Wong, 1983). With B constraints against the order, what is not settled after
B + 1 passes never will be; then, and before that after 2, 4, 8, ... passes, the constraints that raised each point last
are searched for a circle, which is a contradiction and its explanation (Cherkassky and Goldberg, 1999).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Sequence
from fractions import Fraction
from heapq import heappop, heappush
from typing import Any, NamedTuple, TypeAlias

Amount: TypeAlias = "int | Fraction"
Arc: TypeAlias = "tuple[int, Amount, int]"  # the other point, how much later or earlier, the constraint's index
BEFORE_ALL, AFTER_ALL = float("-inf"), float("inf")


class Constraint(NamedTuple):
    """``time[target] - time[source] <= most``. tag: what the caller knows it by; None: given, nobody's doing."""

    source: int
    target: int
    most: Amount
    tag: Hashable = None


class Clash(NamedTuple):
    """Constraints that cannot all hold. cycle: each one's target is the source of the next, and the last one's that of
    the first; no point comes twice, so without any one of them the others can hold. short_by: how much less than
    nothing they add up to, more than 0."""

    cycle: tuple[Constraint, ...]
    short_by: Amount

    @property
    def tags(self) -> tuple[Hashable, ...]:
        """Each tag on the cycle once, in its order, without None."""
        return tuple(dict.fromkeys(one.tag for one in self.cycle if one.tag is not None))


class Network:
    """points: how many. origin: the point whose time is 0 where times are asked for. Not to be changed once made:
    `with_constraint` makes another, and `Growing` keeps times up to date while constraints come in.

    Raises ValueError for a point that there is not."""

    __slots__ = ("_later", "_sooner", "constraints", "origin", "points")

    def __init__(self, points: int, constraints: Iterable[Constraint] = (), origin: int = 0) -> None:
        self.points = points
        self.origin = origin
        self.constraints: tuple[Constraint, ...] = tuple(constraints)
        self._later: _Arcs | None = None
        self._sooner: _Arcs | None = None
        if not 0 <= origin < points:
            raise ValueError(f"origin {origin} of {points} points")
        for one in self.constraints:
            if not (0 <= one.source < points and 0 <= one.target < points):
                raise ValueError(f"constraint from {one.source} to {one.target} of {points} points")

    def with_constraint(self, *more: Constraint) -> Network:
        return Network(self.points, (*self.constraints, *more), self.origin)

    def _pushes(self) -> _Arcs:
        """What each point makes later: ``time[source] >= time[target] - most``."""
        if self._later is None:
            arcs: list[list[Arc]] = [[] for _ in range(self.points)]
            for index, (source, target, most, _) in enumerate(self.constraints):
                arcs[target].append((source, -most, index))
            self._later = _Arcs(arcs)
        return self._later

    def _pulls(self) -> _Arcs:
        """The same with time running backwards: what each point makes earlier, in negated times."""
        if self._sooner is None:
            arcs: list[list[Arc]] = [[] for _ in range(self.points)]
            for index, (source, target, most, _) in enumerate(self.constraints):
                arcs[source].append((target, -most, index))
            self._sooner = _Arcs(arcs)
        return self._sooner


def earliest(network: Network) -> list[Amount | None] | None:
    """The least time of each point that the constraints allow, with the origin at 0; None for a point that may be as
    early as you like. None instead of a list: the constraints contradict one another, and `clash` says which."""
    times, loop = _from_origin(network, network._pushes())
    return None if loop is not None else [None if time == BEFORE_ALL else time for time in times]


def latest(network: Network) -> list[Amount | None] | None:
    """The greatest time of each point, the origin at 0; None for one that may be as late as you like. None instead of a
    list: a contradiction."""
    times, loop = _from_origin(network, network._pulls())
    return None if loop is not None else [None if time == BEFORE_ALL else -time for time in times]


def consistent(network: Network) -> bool:
    """Whether there are times that keep every constraint."""
    return _all_from_nothing(network)[1] is None


def clash(network: Network, blame: Callable[[Constraint], bool] | None = None) -> Clash | None:
    """Why the constraints contradict one another; None if they do not.

    blame: which of them somebody may want to change; without it, those with a tag that allow some time
    (``most > 0``), deadlines and windows. The tags of the ones to blame are irreducible: if the constraints of any of
    those tags were gone, and those of all the tags that are not in the answer, what remains could be kept. They need
    not be the fewest, which would be NP-hard to find. Where the cycle has just one constraint to blame it is the cycle
    that is short by most, so that so much more room, and no less, would do, as far as this one constraint goes."""
    loop = _all_from_nothing(network)[1]
    if loop is None:
        return None
    blame = blame or _allows_time
    given = [one for one in network.constraints if not blame(one)]
    rest = [one for one in network.constraints if blame(one)]
    tags = _tags(loop, blame)
    for tag in tags:
        kept = _tags(loop, blame)
        if tag in kept:
            trial = [one for one in rest if one.tag in kept and one.tag != tag]
            found = _all_from_nothing(Network(network.points, given + trial, network.origin))[1]
            loop = loop if found is None else found
    blamed = [one for one in loop if blame(one)]
    if len(blamed) == 1:
        loop = _shortest_of(Network(network.points, given, network.origin), blamed[0])
    return Clash(tuple(loop), -sum(one.most for one in loop))


def minimal(network: Network, points: Sequence[int]) -> list[list[Amount | None]] | None:
    """The minimal network between the given points, k x k: ``[a][b]`` is the most that point b can come after point a
    in any solution, None for no limit; so b comes at least ``-[b][a]`` after a. None instead of a table: a
    contradiction. One Dijkstra search on reduced costs from each of them (Johnson, 1977)."""
    times, loop = _all_from_nothing(network)
    if loop is not None:
        return None
    arcs = network._pulls().arcs
    table: list[list[Amount | None]] = []
    for start in points:
        known = _reach(arcs, times, start, set(points))
        table.append([known.get(point) for point in points])
    return table


class Growing:
    """Times that are kept up to date while constraints are added, each in about the time of what it moves.

    times: the least that keep all constraints with no point before 0, and so the earliest ones if the origin comes
    first. Raises ValueError for a network that is contradictory to begin with. Cotton and Maler, Fast and flexible
    difference constraint propagation for DPLL(T), SAT 2006."""

    __slots__ = ("_arcs", "constraints", "times")

    def __init__(self, network: Network) -> None:
        found, loop = _all_from_nothing(network)
        if loop is not None:
            raise ValueError("the constraints contradict one another")
        self.times: list[Amount] = found
        self.constraints = list(network.constraints)
        self._arcs = [list(arcs) for arcs in network._pushes().arcs]

    def add(self, new: Constraint) -> Clash | None:
        """Take one more constraint in; if it contradicts the others nothing changes, and the clash is returned: some
        cycle with the new one first, the one that is short by most. Raises ValueError for a point that there is not."""
        source, target, most, _ = new
        if not (0 <= source < len(self.times) and 0 <= target < len(self.times)):
            raise ValueError(f"constraint from {source} to {target} of {len(self.times)} points")
        raised: dict[int, Amount] = {}
        parent: dict[int, int] = {}
        gain = self.times[target] - most - self.times[source]
        # The point that is raised by most first: what it pushes cannot be raised by more than it is itself.
        heap: list[tuple[Amount, int, int]] = [(-gain, source, -1)] if gain > 0 else []
        while heap:
            less, point, by = heappop(heap)
            if point in raised:
                continue
            parent[point] = by
            if point == target:
                return self._closed(new, parent, -less)
            raised[point] = time = self.times[point] - less
            for other, gap, index in self._arcs[point]:
                more = time + gap - self.times[other]
                if more > 0 and other not in raised:
                    heappush(heap, (-more, other, index))
        for point, time in raised.items():
            self.times[point] = time
        self._arcs[target].append((source, -most, len(self.constraints)))
        self.constraints.append(new)
        return None

    def _closed(self, new: Constraint, parent: dict[int, int], short_by: Amount) -> Clash:
        cycle = [new]
        point = new.target
        while parent[point] >= 0:
            cycle.append(self.constraints[parent[point]])
            point = cycle[-1].target
        return Clash(tuple(cycle), short_by)


class _Arcs:
    """arcs[p]: which points p pushes on. order: all points, those that push before those pushed, but for circles;
    rank: where each stands in it. against: how many arcs lead backwards in it."""

    __slots__ = ("against", "arcs", "order", "rank")

    def __init__(self, arcs: list[list[Arc]]) -> None:
        self.arcs = arcs
        natural = all(other > point for point, pushed in enumerate(arcs) for other, gap, _ in pushed if gap >= 0)
        self.order = list(range(len(arcs))) if natural else _ordered(arcs)
        self.rank = [0] * len(arcs)
        for place, point in enumerate(self.order):
            self.rank[point] = place
        rank = self.rank
        self.against = sum(rank[other] <= rank[point] for point, pushed in enumerate(arcs) for other, _, _ in pushed)


def _ordered(arcs: list[list[Arc]]) -> list[int]:
    """Points by when a depth-first search along the minima leaves them, the last one first."""
    seen = bytearray(len(arcs))
    left: list[int] = []
    for root in range(len(arcs) - 1, -1, -1):
        if seen[root]:
            continue
        seen[root] = 1
        stack = [(root, iter(arcs[root]))]
        while stack:
            point, more = stack[-1]
            for other, gap, _ in more:
                if gap >= 0 and not seen[other]:
                    seen[other] = 1
                    stack.append((other, iter(arcs[other])))
                    break
            else:
                left.append(point)
                stack.pop()
    left.reverse()
    return left


def _from_origin(network: Network, arcs: _Arcs) -> tuple[list[Any], list[int] | None]:
    """Longest paths from the origin, `BEFORE_ALL` for points out of its reach; else a loop of constraint indices."""
    times: list[Any] = [BEFORE_ALL] * network.points
    times[network.origin] = 0
    _, loop = _raise(network, arcs, times, [network.origin], network.origin)
    if loop is None:
        # A loop stands wholly within the reach of the origin, or wholly out of it.
        beyond = [point for point in range(network.points) if times[point] == BEFORE_ALL]
        if beyond:
            others: list[Any] = [AFTER_ALL] * network.points
            for point in beyond:
                others[point] = 0
            _, loop = _raise(network, arcs, others, beyond)
    return times, loop


def _all_from_nothing(network: Network) -> tuple[list[Any], list[Constraint] | None]:
    """The least times that keep every constraint with no point before 0, or a loop of constraints that none keep."""
    times: list[Any] = [0] * network.points
    _, loop = _raise(network, network._pushes(), times, range(network.points))
    return times, None if loop is None else [network.constraints[index] for index in loop]


def _raise(
    network: Network, arcs: _Arcs, times: list[Any], seeds: Iterable[int], pinned: int | None = None
) -> tuple[list[int], list[int] | None]:
    """Raise ``times`` in place until every arc is kept. Returns, by point, the constraint that raised it last (-1:
    none) and, where they will never all be kept, a loop of constraint indices. pinned: a seed all times count from."""
    order, rank, pushes = arcs.order, arcs.rank, arcs.arcs
    parent = [-1] * network.points
    now, later = bytearray(network.points), bytearray(network.points)
    for point in seeds:
        now[rank[point]] = 1
    passes = 0
    while True:
        place = now.find(1)
        while place >= 0:
            now[place] = 0
            point = order[place]
            time = times[point]
            for other, gap, index in pushes[point]:
                if time + gap > times[other]:
                    times[other] = time + gap
                    parent[other] = index
                    there = rank[other]
                    if there > place:
                        now[there] = 1
                    else:
                        later[there] = 1
            place = now.find(1, place + 1)
        now, later = later, now
        passes += 1
        beaten = pinned is not None and times[pinned] > 0
        if not beaten and now.find(1) < 0:
            return parent, None
        if beaten or passes > arcs.against or (passes > 1 and passes & (passes - 1) == 0):
            loop = _loop(network, arcs, parent)
            if loop is not None:
                return parent, loop


def _loop(network: Network, arcs: _Arcs, parent: list[int]) -> list[int] | None:
    """A circle of what raised what, in the direction of the constraints; None where there is none."""
    forward = arcs is network._later
    walked = [-1] * network.points
    for root in range(network.points):
        point, path = root, []
        while walked[point] < 0 and parent[point] >= 0:
            walked[point] = root
            path.append(point)
            one = network.constraints[parent[point]]
            point = one.target if forward else one.source
        if walked[point] == root and parent[point] >= 0:
            loop = [parent[each] for each in path[path.index(point) :]]
            return loop if forward else loop[::-1]
    return None


def _allows_time(one: Constraint) -> bool:
    return one.most > 0 and one.tag is not None


def _tags(loop: list[Constraint], blame: Callable[[Constraint], bool]) -> list[Hashable]:
    return list(dict.fromkeys(one.tag for one in loop if blame(one)))


def _shortest_of(given: Network, last: Constraint) -> list[Constraint]:
    """The loop through ``last`` that is short by most, all else being given and free of contradiction."""
    times: list[Any] = [BEFORE_ALL] * given.points
    times[last.source] = 0
    parent, _ = _raise(given, given._pushes(), times, [last.source])
    loop = [last]
    while loop[-1].target != last.source:
        loop.append(given.constraints[parent[loop[-1].target]])
    return loop


def _reach(arcs: list[list[Arc]], times: list[Amount], start: int, wanted: set[int]) -> dict[int, Amount]:
    """Shortest distances from ``start`` to the wanted points (and some others); ``times`` keep every constraint."""
    found: dict[int, Amount] = {}
    left = len(wanted)
    best: dict[int, Amount] = {start: 0}
    heap: list[tuple[Amount, int]] = [(0, start)]
    while heap and left:
        reduced, point = heappop(heap)
        if point in found:
            continue
        found[point] = reduced + times[point] - times[start]
        left -= point in wanted
        here = reduced + times[point]
        for other, gap, _ in arcs[point]:
            if other not in found:
                there = here - gap - times[other]
                if other not in best or there < best[other]:
                    best[other] = there
                    heappush(heap, (there, other))
    return found
