"""The state of everything at one instant, and what follows from it: positions, contents, reach.

Values by variable: place -> Thing or None (nowhere: an actor that never goes out); held -> tuple of `Holding`; from and
to -> Thing or None; property -> its value.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jackstay.model.records import Holding, Thing, Var, World

_OTHER_WAYS = 6  # things that hang on several things that hang on several: tried so far down
_DEEP = 64  # attachments nest no deeper than this; a circle is cut here (and is a finding of its own)


class State:
    """A mutable state. ``aboard`` keeps, for each holder's index, what hangs on it directly: items and riders."""

    __slots__ = ("aboard", "doubtful", "ends_on", "over", "values")

    def __init__(self, size: int) -> None:
        self.values: list[Any] = [None] * size
        self.aboard: dict[int, dict[Thing, None]] = {}
        self.ends_on: dict[int, dict[Thing, None]] = {}
        # variables that a step already found wrong should have read or set: what follows from them is not told again
        self.doubtful: set[int] = set()
        self.over: set[tuple[int, int]] = set()  # bounds already told to be exceeded: (holder, the bound's id)

    @staticmethod
    def written(world: World) -> "State":
        """The configuration as the campaign's files write it."""
        state = State(len(world.variables))
        for thing in world.things:
            if thing.place_var >= 0 and thing.place is not None:
                state.set_place(thing, thing.place)
            if thing.held_var >= 0:
                state.set_held(thing, thing.placed)
            if thing.from_var >= 0:
                state.set_end(thing, "from", thing.from_end)
                state.set_end(thing, "to", thing.to_end)
            for prop, var in thing.prop_vars.items():
                state.values[var] = thing.values.get(prop)
        return state

    def copy(self) -> "State":
        other = State(0)
        other.values = list(self.values)
        other.aboard = {k: dict(v) for k, v in self.aboard.items()}
        other.ends_on = {k: dict(v) for k, v in self.ends_on.items()}
        other.doubtful = set(self.doubtful)
        other.over = set(self.over)
        return other

    # --- writing ---------------------------------------------------------------------------------------------------

    def set_place(self, actor: Thing, place: Thing | None) -> None:
        before = self.values[actor.place_var]
        if before is not None:
            self.aboard[before.index].pop(actor, None)
        self.values[actor.place_var] = place
        if place is not None:
            self.aboard.setdefault(place.index, {})[actor] = None

    def set_held(self, item: Thing, holdings: tuple[Holding, ...]) -> None:
        for holding in self.values[item.held_var] or ():
            self.aboard[holding.holder.index].pop(item, None)
        self.values[item.held_var] = holdings
        for holding in holdings:
            self.aboard.setdefault(holding.holder.index, {})[item] = None

    def set_end(self, line: Thing, end: str, holder: Thing | None) -> None:
        var = line.from_var if end == "from" else line.to_var
        other = self.values[line.to_var if end == "from" else line.from_var]
        before = self.values[var]
        if before is not None and before is not other:
            self.ends_on[before.index].pop(line, None)
        self.values[var] = holder
        if holder is not None:
            self.ends_on.setdefault(holder.index, {})[line] = None

    def put(self, variable: Var, value: Any) -> None:
        """Set any variable."""
        if variable.sort == "place":
            self.set_place(variable.thing, value)
        elif variable.sort == "held":
            self.set_held(variable.thing, value)
        elif variable.sort == "property":
            self.values[variable.id] = value
        else:
            self.set_end(variable.thing, variable.sort, value)

    # --- reading ---------------------------------------------------------------------------------------------------

    def held(self, item: Thing) -> tuple[Holding, ...]:
        return self.values[item.held_var] or ()

    def holder_of(self, thing: Thing) -> tuple[Thing | None, int]:
        """The next thing on the way down to a location, and the variable that says so (-1 at a location)."""
        if thing.place_var >= 0:
            return self.values[thing.place_var], thing.place_var
        if thing.held_var >= 0:
            holdings = self.values[thing.held_var]
            if holdings:
                return holdings[0].holder, thing.held_var
            if thing.from_var >= 0:
                if self.values[thing.to_var] is not None:
                    return self.values[thing.to_var], thing.to_var
                return self.values[thing.from_var], thing.from_var
            return None, thing.held_var
        return None, -1

    def location(self, thing: Thing | None) -> Thing | None:
        """Where a thing is, at last; None if nowhere."""
        for _ in range(_DEEP):
            if thing is None or thing.sort == "location":
                return thing
            var = thing.place_var
            thing = self.values[var] if var >= 0 else self.holder_of(thing)[0]
        return None

    def chain(self, thing: Thing) -> list[tuple[Thing, int]]:
        """The walk from a thing down to its location: (node, variable that leads on from it)."""
        out: list[tuple[Thing, int]] = []
        at: Thing | None = thing
        while at is not None and len(out) < _DEEP:
            if at.sort == "location":
                out.append((at, -1))
                break
            below, var = self.holder_of(at)
            out.append((at, var))
            at = below
        return out

    def anchors(self, thing: Thing) -> list[tuple[Thing | None, int]]:
        """All that a thing hangs on directly, with the variable: attachments, and a line's two ends."""
        if thing.sort == "location":
            return [(thing, -1)]
        var = thing.place_var
        if var >= 0:
            return [(self.values[var], var)]
        var = thing.held_var
        out: list[tuple[Thing | None, int]] = [(holding.holder, var) for holding in self.values[var] or ()]
        if thing.from_var >= 0:
            out += [(self.values[thing.from_var], thing.from_var), (self.values[thing.to_var], thing.to_var)]
        return out

    def hangs_on(self, thing: Thing, other: Thing) -> bool:
        """Whether a thing hangs on another, at any depth and by any of its attachments."""
        if thing.sort == "location":
            return False
        seen = {thing.index}
        queue = [thing]
        for at in queue:
            for anchor, _ in self.anchors(at) if at.sort != "location" else ():
                if anchor is other:
                    return True
                if anchor is not None and anchor.index not in seen:
                    seen.add(anchor.index)
                    queue.append(anchor)
        return False

    def carriers(self, thing: Thing) -> list[Thing]:
        """The thing and all that it is aboard of, at any depth, by any of its attachments; a line's ends are none."""
        out = [thing]
        for at in out:
            if at.place_var >= 0:
                below = self.values[at.place_var]
                if below is not None and below not in out:
                    out.append(below)
            elif at.held_var >= 0:
                out += [h.holder for h in self.values[at.held_var] or () if h.holder not in out]
        return out

    def at_place(self, thing: Thing, place: Thing) -> bool:
        """Whether a thing is at a place, or on a fitting within its reach."""
        return is_at(self.location(thing), place)

    def meet(self, a: Thing, b: Thing, deep: int = 0) -> tuple[bool, tuple[int, ...]]:
        """Whether two things are within reach of one another, and the variables on the walks up to where they join."""
        if a.place_var >= 0 and b.sort == "location":
            # by far the most often asked: somebody at a place, and a place or a fitting
            stands = self.values[a.place_var]
            if stands is not None and stands.sort == "location":
                return stands is b or not b.stations.isdisjoint(stands.stations), (a.place_var,)
        nodes: list[Thing] = []  # the walk down from a, and what leads on from each; nothing does from a location
        down: list[int] = []
        node: Thing | None = a
        below: Thing | None = None
        while node is not None and len(nodes) < _DEEP:
            nodes.append(node)
            if node.sort == "location":
                below = node
                break
            node, var = self.holder_of(node)
            down.append(var)
        anchors = self.anchors(b)
        if anchors and b in nodes:
            return True, tuple(down[: nodes.index(b)])
        reads: tuple[int, ...] = ()
        for anchor, var in anchors:
            walk = [] if var < 0 else [var]
            at: Thing | None = anchor
            steps = 0
            while at is not None and steps < _DEEP:
                if at in nodes:
                    return True, (*walk, *down[: nodes.index(at)])
                if at.sort == "location":
                    break
                at, next_var = self.holder_of(at)
                walk.append(next_var)
                steps += 1
            here = (*walk, *down)
            if at is not None and below is not None and not at.stations.isdisjoint(below.stations):
                return True, here
            reads = reads or here
        if a.held_var >= 0 and deep < _OTHER_WAYS:
            # a thing that hangs on several reaches by each of them, a line by either end
            for anchor, var in self.anchors(a)[1 if self.values[a.held_var] else 0 :]:
                if anchor is not None and anchor is not a:
                    met, more = self.meet(anchor, b, deep + 1)
                    if met:
                        return True, (var, *more)
        return False, reads or tuple(down)

    def everything_aboard(self, holder: Thing) -> Iterator[Thing]:
        """All that hangs on a holder, at any depth, riders included, each once."""
        seen = {holder.index}
        queue = list(self.aboard.get(holder.index, ()))
        for thing in queue:
            if thing.index in seen or len(seen) > 100_000:
                continue
            seen.add(thing.index)
            yield thing
            inner = self.aboard.get(thing.index)
            if inner:
                queue.extend(inner)

    def value(self, thing: Thing, prop: str) -> Any:
        var = thing.prop_vars.get(prop, -1)
        return self.values[var] if var >= 0 else thing.values.get(prop)


def is_at(where: Thing | None, place: Thing) -> bool:
    """Whether a location is a place, or a fitting within its reach."""
    return where is not None and (where is place or place.index in where.stations)


def is_inside(place: Thing | None) -> bool:
    """Whether a location counts as home; nowhere (who never goes out) does."""
    if place is None or place.kind.inside:
        return True
    return bool(place.near) and all(p.kind.inside for p in place.near)
