"""What may hang on a thing in another order than the replay's, though no two steps touch one variable.

Who leaves a seat touches what he hangs on, and so does who takes the seat: two variables. If nothing orders the two and
the replay has the rider leave first, it never sees him aboard of who takes the seat, nor what he has with him. So the
chains of attachments are followed link by link, each link a stay: all the links of a chain can hold at once iff their
stays are pairwise not apart (see `stays`). The chains that hold along the replay are left out.
"""

from __future__ import annotations

from bisect import bisect_left
from typing import TYPE_CHECKING, Any, NamedTuple

from jackstay.flow.records import Step
from jackstay.flow.stays import Stay, before
from jackstay.model.records import Thing

if TYPE_CHECKING:
    from jackstay.flow.replay import Replay

_MOST = 200_000  # links looked at from one holder: about a second
_DEEP = 64  # see `state`
Links = dict[Thing, dict[Thing, list[Stay]]]  # holder -> what ever hangs on it -> when, in the replayed order


class Chance(NamedTuple):
    """A thing that may be aboard. links: the stays that it takes, all at once; the last start of the replay is not
    surely before the first end, nor after it."""

    thing: Thing
    links: tuple[Stay, ...]


class Chances(NamedTuple):
    """by_holder: of those that any may be aboard of. uncounted: those of which there were too many links to tell."""

    by_holder: dict[Thing, list[Chance]]
    uncounted: set[Thing]


def chances(replay: Replay) -> Chances:
    """For each holder that carries a bounded sum, what may be aboard it in another order only."""
    out = Chances({}, set())
    if not replay.laws.carried:
        return out
    links = _links(replay)
    told = {
        (p.facts["first"].index, p.facts["second"].index) for p in replay.flow.problems if p.rule == "may-come-first"
    }
    for thing in replay.world.things:
        if thing.kind.carries and any(child in links for child in links.get(thing, ())):
            walk = _Walk(links, told)
            walk.down(thing, [thing], ())
            if walk.looked > _MOST:
                out.uncounted.add(thing)
            if walk.found:
                out.by_holder[thing] = walk.found
    return out


def _links(replay: Replay) -> Links:
    """Every attachment, with when it holds. A line's ends carry nothing."""
    links: Links = {}
    open_at: dict[int, dict[Thing, Step | None]] = {}
    for thing in replay.world.things:
        var = thing.place_var if thing.place_var >= 0 else thing.held_var
        if var >= 0:
            open_at[var] = dict.fromkeys(_holders(replay.flow.start[var]))
    for step in replay.flow.steps:
        for change in step.changes:
            held = open_at.get(change.var)
            if held is None:
                continue
            child = replay.world.variables[change.var].thing
            now = _holders(change.after)
            for holder in [one for one in held if one not in now]:
                links.setdefault(holder, {}).setdefault(child, []).append(Stay(held.pop(holder), step))
            for holder in now:
                held.setdefault(holder, step)
    for var, held in open_at.items():
        child = replay.world.variables[var].thing
        for holder, start in held.items():
            links.setdefault(holder, {}).setdefault(child, []).append(Stay(start, None))
    return links


def _holders(value: Any) -> list[Thing]:
    """What a thing hangs on, by the value of its place or of what holds it."""
    if isinstance(value, tuple):
        return list(dict.fromkeys(holding.holder for holding in value))
    return [] if value is None else [value]


class _Walk:
    """All chains that end in one holder."""

    def __init__(self, links: Links, told: set[tuple[int, int]]) -> None:
        self.links = links
        self.told = told  # pairs of steps of which it has been told that their order matters
        self.looked = 0
        self.found: list[Chance] = []

    def down(self, node: Thing, nodes: list[Thing], path: tuple[Stay, ...]) -> None:
        """path: the stays of the links so far, without those that hold all along."""
        for child, stays in self.links[node].items():
            if child in nodes or (not path and child not in self.links) or len(nodes) > _DEEP:
                continue
            first = bisect_left(stays, True, key=lambda s: not any(before(s, link) for link in path)) if path else 0
            for stay in stays[first:]:
                self.looked += 1
                if self.looked > _MOST or any(before(link, stay) for link in path):
                    break
                if any(one.end is not None and one.end is two.start for link in path for one, two in _both(link, stay)):
                    continue  # one step that does both does them in its own order
                chain = path if stay.start is None and stay.end is None else (*path, stay)
                if self._elsewhen(chain):
                    self.found.append(Chance(child, chain))
                if child in self.links:
                    self.down(child, [*nodes, child], chain)

    def _elsewhen(self, chain: tuple[Stay, ...]) -> bool:
        """Whether the links never hold at once along the replay, and nothing else tells of that."""
        start = max((s.start.index for s in chain if s.start is not None), default=-1)
        ends = [s.end.index for s in chain if s.end is not None]
        return bool(ends) and min(ends) < start and (min(ends), start) not in self.told


def _both(a: Stay, b: Stay) -> tuple[tuple[Stay, Stay], tuple[Stay, Stay]]:
    return (a, b), (b, a)
