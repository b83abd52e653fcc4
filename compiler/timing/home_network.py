"""The paths, cut by what line they ask for: how far one walks without a change, and where a change comes next."""

from __future__ import annotations

from fractions import Fraction
from heapq import heappop, heappush
from typing import NamedTuple

from jackstay.flow.laws import Distances
from jackstay.flow.state import is_inside
from jackstay.model.records import Path, Thing, World

Demand = tuple[int, int]  # the kind of line and the place it comes from; (0, -1): none


class Leg(NamedTuple):
    """The shortest walk to a place over paths that all ask for the same. path: the first of them; None: not on
    foot."""

    demand: Demand
    path: Path | None
    places: tuple[Thing, ...]
    metres: Fraction


def demand_of(path: Path) -> Demand:
    if path.line_kind is None:
        return (0, -1)
    return (id(path.line_kind), path.line_place.index if path.line_place is not None else -1)


class Network:
    """Legs by the place they start from, worked out once each."""

    def __init__(self, world: World, distances: Distances) -> None:
        self.distances = distances
        self.stops: set[int] = set()  # where a leg may have to end: a place inside, or where demands meet
        asked: dict[int, Demand] = {}
        for path in world.paths:
            for place in (path.a, path.b):
                if is_inside(place) or asked.setdefault(place.index, demand_of(path)) != demand_of(path):
                    self.stops.add(place.index)
        self.known: dict[tuple[int, Thing | None], list[Leg]] = {}

    def legs(self, place: Thing, goal: Thing | None = None) -> list[Leg]:
        """From a place, or a fitting's places, to every stop, and to wherever ``goal`` is within reach."""
        key = (place.index, goal)
        if key not in self.known:
            self.known[key] = [leg for first in (place, *place.near) for leg in self._from(first, goal)]
        return self.known[key]

    def _from(self, first: Thing, goal: Thing | None) -> list[Leg]:
        found: list[Leg] = []
        firsts: dict[Demand, Path] = {}
        for _, _, path in self.distances.edges.get(first.index, ()):
            firsts.setdefault(demand_of(path), path)
        for demand, path in firsts.items():
            seen: set[int] = set()
            heap: list[tuple[Fraction, int, int, tuple[Thing, ...]]] = [(Fraction(0), 0, 0, (first,))]
            count = 0
            while heap:
                metres, _, _, places = heappop(heap)
                at = places[-1]
                if at.index in seen:
                    continue
                seen.add(at.index)
                if at is not first and (at.index in self.stops or (goal is not None and at_goal(at, goal))):
                    found.append(Leg(demand, path, places, metres))
                for length, other, way in self.distances.edges.get(at.index, ()):
                    if other.index not in seen and demand_of(way) == demand:
                        count += 1
                        heappush(heap, (metres + length, other.index, count, (*places, other)))
        return found

    def path(self, a: Thing, b: Thing) -> Path:
        """The shortest path from a place to one beside it, the first declared of equals."""
        paths: list[Path] = [path for _, other, path in self.distances.edges[a.index] if other is b]
        return min(paths, key=lambda path: path.length.value)


def at_goal(place: Thing, goal: Thing) -> bool:
    """Whether somebody at a place is where the goal is, or within its reach."""
    return place is goal or not place.stations.isdisjoint(goal.stations)
