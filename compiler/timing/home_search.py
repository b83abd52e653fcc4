"""The shortest way home from a state: rid of what keeps them, off what they sit in, from line to line, along the
paths.

Dijkstra over places and lines, with the same actions that a heading would insert. A leg goes to the next place where
the paths ask for another line, or to a place inside. Laws other than room stand in the way; who else is there does
not."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from heapq import heappop, heappush
from itertools import chain
from typing import Any, NamedTuple

from jackstay.flow.laws import Distances
from jackstay.flow.state import is_inside
from jackstay.model.literals import is_under
from jackstay.model.records import Action, Excursion, Path, Thing, World
from jackstay.timing.home_doing import Doing, Held
from jackstay.timing.home_network import Demand, Leg, Network, at_goal
from jackstay.timing.home_records import Number, Part, Way, exact
from jackstay.timing.home_watch import Watched

_ROUNDS = 8  # so often something that is in the way is got rid of before giving up


class _Errand(NamedTuple):
    """via: to be reached first (None: straight home), on the line that a path from there asks for. pace: in metres a
    second from there on (None: as usual)."""

    via: Thing | None = None
    pace: Number | None = None
    path: Path | None = None


class _Node(NamedTuple):
    """A state on the way: what differs from the start. last: what the leg before asked for; met: via is reached."""

    delta: tuple[tuple[int, Any], ...]
    last: Demand | None
    met: bool
    parts: tuple[Part, ...]
    end: bool
    goal: Thing | None = None  # at the end
    met_at: Number = 0
    met_parts: int = 0


class Finder:
    """Ways home in a watched state. going: those who go home themselves, with whom nothing can be left."""

    def __init__(
        self, world: World, state: Watched, distances: Distances, going: tuple[Thing, ...], excursion: Excursion
    ) -> None:
        self.world = world
        self.state = state
        self.going = going
        self.doing = Doing(world, state, distances, excursion)
        self.network = Network(world, distances)
        self.unknown: Action | None = None

    def home(self, actor: Thing) -> Way:
        """From where the actor is now, with nothing to make safe."""
        return self.state.ask(actor, lambda: self._find(actor, _Errand()))

    def rescue(self, actor: Thing, via: Thing, pace: Number, path: Path | None = None) -> Way:
        """To a place, ready to go on along a path if one is given, and home from there at a pace."""
        errand = _Errand(via, pace, path)
        return self.state.ask((actor, errand), lambda: self._find(actor, errand))

    def _find(self, actor: Thing, errand: _Errand) -> Way:
        """Without whoever carries them first; only where that fails, with them."""
        carrier = self._carrier(actor)
        way = self._rid_and_go(actor, errand, None)
        if way.seconds is None and way.unknown is None and carrier is not None:
            with_them = self._rid_and_go(actor, errand, carrier)
            return with_them if with_them.seconds is not None or with_them.unknown is not None else way
        return way

    def _carrier(self, actor: Thing) -> Thing | None:
        """The nearest other actor that they ride on."""
        return next((node for node, _ in self.state.chain(actor)[1:] if node.sort == "actor"), None)

    def a_metre(self, actor: Thing) -> Number | None:
        """Seconds that the actor's usual way of going takes for one more metre; None if nobody says."""
        for action, service in self.doing.inserter.services.get(("located", False), ()):
            if service.along_paths and not action.helped_by and is_under(actor.kind, action.by):
                binding = (actor, None, *(None for _ in action.params))
                one, none = (self.doing.seconds(action, binding, metres) for metres in (1, 0))
                return None if one is None or none is None else exact(one - none)
        return None

    # --- rid of what is in the way -----------------------------------------------------------------------------------

    def _rid_and_go(self, actor: Thing, errand: _Errand, carrier: Thing | None) -> Way:
        state, doing = self.state, self.doing
        mark = len(state.trail)
        parts: list[Part] = []
        try:
            for _ in range(_ROUNDS):
                doing.forget()
                self.unknown = None
                way = self._route(actor, errand, carrier)
                if way.seconds is not None or way.unknown is not None:
                    break
                gone = [part for held in list(doing.held) if (part := self._rid(actor, held)) is not None]
                if not gone:
                    break
                parts += gone
        finally:
            state.rewind(mark)
        if way.seconds is None:
            return way
        spent = exact(sum((part.seconds for part in parts), way.seconds))
        first = exact(spent - way.seconds)
        return way._replace(
            seconds=spent, parts=(*parts, *way.parts), met=first + way.met, met_parts=len(parts) + way.met_parts
        )

    def _rid(self, actor: Thing, held: Held) -> Part | None:
        """Get rid of something in the shortest way, and leave it so; None if it cannot be done. It ends up on
        something that does not go home."""
        thing, holder, manner = held
        state, doing = self.state, self.doing
        if thing.held_var < 0 or not self._on(held):
            return None
        best: tuple[Number, Part, list[tuple[int, Any]]] | None = None
        doers = [(actor,), *[(actor, other) for other in self.going if other is not actor]]
        for who in doers:
            for action, binding in doing.options("attached", True, thing, holder, who, manner, makes=True):
                seconds = doing.seconds(action, binding)
                if seconds is None or (best is not None and best[0] <= seconds):
                    continue
                mark = len(state.trail)
                if doing.do(action, binding) and not self._on(held) and self._stays(thing):
                    made = [(var, state.raw(var)) for var in dict.fromkeys(var for var, _ in state.trail[mark:])]
                    best = (seconds, Part("away", action, binding, seconds), made)
                state.rewind(mark)
        if best is None:
            return None
        for var, value in best[2]:
            state.try_put(var, value)
        return best[1]

    def _on(self, held: Held) -> bool:
        thing, holder, manner = held
        return any(one.holder is holder and manner in (None, one.manner) for one in self.state.held(thing))

    def _stays(self, thing: Thing) -> bool:
        """Whether at least one thing it hangs on is not with somebody who goes home."""
        return any(
            anchor is not None and all(node not in self.going for node, _ in self.state.chain(anchor))
            for anchor, _ in self.state.anchors(thing)
        )

    # --- the way -----------------------------------------------------------------------------------------------------

    def _route(self, actor: Thing, errand: _Errand, carrier: Thing | None) -> Way:
        state = self.state
        base = len(state.trail)
        heap: list[tuple[Number, int, _Node]] = [(0, 0, _Node((), None, errand.via is None, (), False))]
        done: set[Any] = set()
        count = 0
        while heap:
            cost, _, node = heappop(heap)
            key = (node.delta, node.last, node.met, node.end)
            if key in done:
                continue
            done.add(key)
            if node.end:
                seconds = cost - self._entry(node.goal, errand)
                return Way(seconds, node.parts, node.goal, carrier, met=node.met_at, met_parts=node.met_parts)
            for var, value in node.delta:
                state.try_put(var, value)
            known = state.recall(actor) if errand.via is None and carrier is None and node.parts else None
            if known is not None and known.carrier is None and known.unknown is None:
                state.rewind(base)
                if known.seconds is not None:
                    count += 1
                    end = node._replace(end=True, goal=known.goal, parts=(*node.parts, *known.parts))
                    heappush(heap, (exact(cost + known.seconds + known.entry), count, end))
                continue
            here = state.location(actor)
            following: list[tuple[Number, _Node]] = []
            there = not node.met and errand.via is not None and here is not None and at_goal(here, errand.via)
            ready = there and self._ready(actor, errand.path)
            met = node.met or ready
            if met and not node.met:
                node = node._replace(met=True, last=None, met_at=cost, met_parts=len(node.parts))
            if met and is_inside(here):
                following.append((cost + self._entry(here, errand), node._replace(end=True, goal=here)))
            elif here is not None:
                seat = state.values[actor.place_var]
                seated = seat.sort != "location"
                edges = self._out(actor, seat) if seated else self._on_foot(actor, here, node, errand)
                if there and not ready and not seated and errand.path is not None:
                    edges = chain(edges, self._onto(actor, errand.path, node.last))
                if carrier is not None and not node.parts:
                    edges = chain(edges, self._carried(actor, carrier, here))
                for parts, last in edges:
                    spent = sum((part.seconds for part in parts), cost)
                    changed = tuple((var, state.raw(var)) for var in sorted({var for var, _ in state.trail[base:]}))
                    following.append(
                        (exact(spent), node._replace(delta=changed, last=last, parts=(*node.parts, *parts)))
                    )
            state.rewind(base)
            for spent, one in following:
                count += 1
                heappush(heap, (spent, count, one))
        return Way(
            None,
            unknown=self.unknown,
            unmet=tuple(self.doing.unmet.items()),
            breaches=tuple(self.doing.breaches),
        )

    @staticmethod
    def _entry(place: Thing | None, errand: _Errand) -> Number:
        """Coming in counts in the choice of where to; who brings somebody comes in with them."""
        return Way(None, goal=place).entry * (1 if errand.via is None else 2)

    def _tried(
        self, sort: str, action: Action, binding: tuple[Any, ...], leg: Leg | None = None, pace: Number | None = None
    ) -> Part | None:
        """Do an action in the watched state; None if it has no duration or breaks a law."""
        metres = exact(leg.metres) if leg is not None else 0
        if pace is not None and leg is not None:
            seconds: Number | None = exact(leg.metres / pace)
        else:
            seconds = self.doing.seconds(action, binding, metres)
        if seconds is None:
            self.unknown = self.unknown or action
            return None
        if not self.doing.do(action, binding, metres):
            return None
        return Part(sort, action, binding, seconds, leg.places if leg is not None else (), metres)

    def _out(self, actor: Thing, seat: Thing) -> Iterator[tuple[tuple[Part, ...], Demand | None]]:
        """Off what they sit in: by an action that serves that, else by one that makes it so."""
        mark = len(self.state.trail)
        for makes in (False, True):
            left = False
            for action, binding in self.doing.options("attached", True, actor, seat, (actor,), makes=makes):
                part = self._tried("out", action, binding)
                if part is not None:
                    left = True
                    yield (part,), None
                self.state.rewind(mark)
            if left:
                return

    def _carried(self, actor: Thing, carrier: Thing, here: Thing) -> Iterator[tuple[tuple[Part, ...], Demand | None]]:
        """Brought by whoever carries them, to any place that one reaches."""
        mark = len(self.state.trail)
        for place in carrier.reaches or [p for p in self.world.things if p.sort == "location"]:
            leg = self._walk(carrier, here, place)
            if place is here or leg is None:
                continue
            for doers in ((carrier, actor), (carrier,)):
                part = None
                for action, binding in self.doing.options("located", False, carrier, place, doers):
                    part = self._tried("ride", action, binding, leg)
                    break
                if part is not None:
                    yield (part,), None
                    self.state.rewind(mark)
                    break

    def _walk(self, carrier: Thing, here: Thing, place: Thing) -> Leg | None:
        """How a carrier gets somewhere: at once where it reaches, else along the paths, whatever lines they ask
        for."""
        distances = self.network.distances
        if carrier.reaches:
            return Leg((0, -1), None, (here, place), Fraction(0))
        found = distances.from_place(here).get(place.index)
        return None if found is None else Leg((0, -1), None, (here, place), found[0])

    def _ready(self, actor: Thing, path: Path | None) -> bool:
        """Whether somebody at a place can go on along a path from there: on their feet, and on its line."""
        if path is None:
            return True
        on_foot = self.state.values[actor.place_var].sort == "location"
        return on_foot and (path.line_kind is None or self.doing.inserter.line_for(path, actor)[0])

    def _onto(self, actor: Thing, path: Path, last: Demand | None) -> Iterator[tuple[tuple[Part, ...], Demand | None]]:
        """On to the line that a path asks for, and no further yet."""
        mark = len(self.state.trail)
        _, change, _ = self.doing.inserter.line_for(path, actor)
        if change is not None and change.missing is None:
            part = self._tried("line", change.action, change.binding)
            if part is not None:
                yield (part,), last
            self.state.rewind(mark)

    def _on_foot(
        self, actor: Thing, here: Thing, node: _Node, errand: _Errand
    ) -> Iterator[tuple[tuple[Part, ...], Demand | None]]:
        """On to the next stop: a change of line where the paths ask for one, and the walk."""
        state, doing = self.state, self.doing
        mark = len(state.trail)
        pace = errand.pace if node.met else None
        for leg in self.network.legs(here, None if node.met else errand.via):
            if leg.demand == node.last:
                continue  # one walk, not two
            parts: list[Part] = []
            if leg.path is not None and leg.path.line_kind is not None:
                on_it, change, _ = doing.inserter.line_for(leg.path, actor)
                if not on_it:
                    if change is None:
                        doing.breaches["no-line-for-path"] = None
                        continue
                    if change.missing is not None:
                        doing.note_unmet(change.missing, list(change.binding))
                        continue
                    part = self._tried("line", change.action, change.binding)
                    if part is None:
                        state.rewind(mark)
                        continue
                    parts.append(part)
            for action, binding in doing.options("located", False, actor, leg.places[-1], (actor,)):
                part = self._tried("way", action, binding, leg, pace)
                if part is not None:
                    yield (*parts, part), leg.demand
                break
            state.rewind(mark)
