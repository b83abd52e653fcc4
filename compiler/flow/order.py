"""The order that the text writes: each actor's list, waits, tasks after tasks, steps beside steps.

Entries are ordered here before anything is known about states; inserted steps ride on their entries.
"""

from __future__ import annotations

from collections import deque
from heapq import heapify, heappop, heappush
from typing import NamedTuple

from jackstay.model.choreography import first_entries, last_entries
from jackstay.model.records import Entry, Mark, Task, Thing


class Edge(NamedTuple):
    """``before`` must be over when the entry starts. why: own (an actor's list), wait (a mark), task; in a replay also
    within (that runs within the entry) and beside (the entry runs within the step that calls the mark, and that step
    comes after ``before``)."""

    before: int
    why: str
    actor: Thing | None
    mark: Mark | None


class Order:
    """Entries that take part, their edges, and a text-order linear extension (or a circle).

    into[i]: edges into entry i. beside[i]: entries m within which i runs (``while``)."""

    def __init__(self, tasks: list[Task], entries: list[Entry]) -> None:
        self.entries = entries
        self.at = {id(e): i for i, e in enumerate(entries)}
        self.into: list[list[Edge]] = [[] for _ in entries]
        self.beside: list[list[int]] = [[] for _ in entries]
        self.own_last: dict[int, int] = {}
        self._own()
        self._waits()
        self._tasks(tasks)
        self.sequence, self.circle = self._sequence()

    def _own(self) -> None:
        last: dict[int, int] = {}
        for i, entry in enumerate(self.entries):
            for actor in entry.cast:
                before = last.get(actor.index)
                if before is not None:
                    self.into[i].append(Edge(before, "own", actor, None))
                last[actor.index] = i
        self.own_last = last

    def _waits(self) -> None:
        for i, entry in enumerate(self.entries):
            for wait in entry.waits:
                before = self.at.get(id(wait.mark.entry)) if wait.mark.entry else None
                if before is not None:
                    self.into[i].append(Edge(before, "wait", None, wait.mark))
            for wait in entry.beside:
                within = self.at.get(id(wait.mark.entry)) if wait.mark.entry else None
                if within is not None:
                    self.beside[i].append(within)

    def _tasks(self, tasks: list[Task]) -> None:
        for task in tasks:
            for other in task.after:
                for last in last_entries(other):
                    for first in first_entries(task):
                        if id(last) in self.at and id(first) in self.at:
                            self.into[self.at[id(first)]].append(Edge(self.at[id(last)], "task", None, None))

    def replay_edges(self, i: int) -> list[Edge]:
        """What must come before entry i in the replay: its edges, those of an entry it runs within, and entries that
        run within it (their ends come before its end)."""
        edges = list(self.into[i])
        for m in self.beside[i]:
            edges += [Edge(e.before, "beside", e.actor, self.entries[m].says) for e in self.into[m]]
        return edges + [Edge(s, "within", None, None) for s in self._inner.get(i, ())]

    def _sequence(self) -> tuple[list[int], list[tuple[int, Edge]]]:
        self._inner: dict[int, list[int]] = {}
        for s, outer in enumerate(self.beside):
            for m in outer:
                self._inner.setdefault(m, []).append(s)
        plain = not self._inner
        edges = self.into if plain else [self.replay_edges(i) for i in range(len(self.entries))]
        if all(edge.before < i for i, into in enumerate(edges) for edge in into):
            return list(range(len(edges))), []  # the text stands in an order already
        count = [0] * len(edges)
        after: list[list[int]] = [[] for _ in edges]
        for i, into in enumerate(edges):
            count[i] = len(into)
            for edge in into:
                after[edge.before].append(i)
        ready = [i for i, n in enumerate(count) if n == 0]
        heapify(ready)
        out: list[int] = []
        while ready:
            i = heappop(ready)
            out.append(i)
            for j in after[i]:
                count[j] -= 1
                if count[j] == 0:
                    heappush(ready, j)
        if len(out) == len(edges):
            return out, []
        return out, _shortest_circle({i: edges[i] for i, n in enumerate(count) if n > 0})


def _shortest_circle(edges: dict[int, list[Edge]]) -> list[tuple[int, Edge]]:
    """The shortest circle of waits among entries that never become ready: (entry, the edge that it waits by) pairs.

    Breadth-first from each entry, bounded to the first few hundred so that a hostile plan stays quick."""
    best: list[tuple[int, Edge]] = []
    for start in sorted(edges)[:400]:
        came: dict[int, tuple[int, Edge]] = {}
        queue = deque([start])
        found = False
        while queue and not found:
            i = queue.popleft()
            for edge in edges[i]:
                j = edge.before
                if j not in edges:
                    continue
                if j == start:
                    circle = [(i, edge)]
                    while i != start:
                        i, step = came[i]
                        circle.append((i, step))
                    circle.reverse()
                    if not best or len(circle) < len(best):
                        best = circle
                    found = True
                    break
                if j not in came:
                    came[j] = (i, edge)
                    queue.append(j)
        if best and len(best) <= 2:
            break
    return best
