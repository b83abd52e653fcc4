"""How far apart two events can come, whatever the uncertain durations turn out to be.

For one event m, every other event v gets a bound on ``t_v - t_m`` that no day exceeds, if each step begins as soon as
it may and takes between its least and its most. An event comes at the latest of its sources (each with its gap at its
most); one that m itself waits for comes at least so long before m as the longest way between them takes at its least.
The bound counts a step at its most on one way and at its least on another, so it may be higher than any day is.
"""

from __future__ import annotations

from jackstay.timing.events import ORIGIN, EventGraph
from jackstay.timing.light import DAYLIGHT
from jackstay.timing.passes import Early, earliest

MOST_ROUNDS = 12


class Spread:
    """Bounds over one event graph, in ticks. Raises ValueError for an order that is circular."""

    def __init__(self, graph: EventGraph) -> None:
        self.graph = graph
        order = graph.order()
        first, last = earliest(graph, graph.least), earliest(graph, graph.most)
        if order is None or first is None or last is None:
            raise ValueError("the order is circular")
        self.order = order
        self.first: Early = first
        self.last: Early = last
        self.sources = graph.into()
        for i in range(len(graph.before)):
            self.sources[2 * i + 1].append(2 * i)
        self.within = [one for one in graph.at_most if one.source != ORIGIN]
        self.known: dict[int, list[int] | None] = {}

    def soonest(self, event: int) -> int:
        return (self.first.end if event & 1 else self.first.start)[event >> 1]

    def latest(self, event: int) -> int:
        return (self.last.end if event & 1 else self.last.start)[event >> 1]

    @property
    def longest(self) -> int:
        return max(self.last.end, default=0)

    def after(self, event: int) -> list[int] | None:
        """For each event how many ticks after this one it can come at most (below nothing: surely before). None: no
        bound was found."""
        if event not in self.known:
            self.known[event] = self._bounds(event)
        return self.known[event]

    def _bounds(self, event: int) -> list[int] | None:
        ahead = self._ahead(event)
        soonest = self.soonest(event)
        pushed: dict[int, int] = {}
        for _ in range(MOST_ROUNDS):
            found = self._forward(ahead, soonest, pushed)
            moved = False
            for one in self.within:
                # what a maximum counts from may be put off until it is kept
                wanted = found[one.target] - one.gap
                if wanted > found[one.source]:
                    step = one.source & ~1
                    put = wanted if one.source == step else wanted - self.graph.least[one.source >> 1]
                    if put > pushed.get(step, found[step]):
                        pushed[step] = put
                        moved = True
            if not moved:
                return found
        return None

    def _ahead(self, event: int) -> dict[int, int]:
        """For each event that this one waits for: the ticks between them, at least."""
        least = self.graph.least
        found = {event: 0}
        place = {one: n for n, one in enumerate(self.order)} if not self.graph.plain else None
        top = place[event] if place is not None else event
        for n in range(top, -1, -1):
            one = self.order[n]
            reach = found.get(one)
            if reach is None:
                continue
            for source in self.sources[one]:
                gap = reach + (least[one >> 1] if source == one - 1 and one & 1 else 0)
                if gap > found.get(source, -1):
                    found[source] = gap
        return found

    def _forward(self, ahead: dict[int, int], soonest: int, pushed: dict[int, int]) -> list[int]:
        graph, most = self.graph, self.graph.most
        found = [0] * len(self.order)
        for event in self.order:
            i = event >> 1
            if event & 1:
                bound = max(found[source] + (most[i] if source == event - 1 else 0) for source in self.sources[event])
            else:
                bound = graph.floors[i] - soonest
                for source in self.sources[event]:
                    if found[source] > bound:
                        bound = found[source]
                if i in graph.light:
                    bound += self._wait(i)
                if event in pushed:
                    bound = max(bound, pushed[event])
            known = ahead.get(event)
            found[event] = bound if known is None else min(bound, -known)
        return found

    def _wait(self, i: int) -> int:
        """For how long at most a step waits for its light."""
        cycle = self.graph.cycle
        if cycle is None or cycle.earliest(0, self.graph.most[i], self.graph.light[i]) is None:
            return 0
        if self.graph.light[i] == DAYLIGHT:
            return cycle.dark + self.graph.most[i]
        return max(cycle.first, cycle.every - cycle.dark + self.graph.most[i])
