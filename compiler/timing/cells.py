"""Every stretch in which a case can hold in some timing: from which event to which.

A cell says which of the steps that matter to the case have ended and which are running. Only cells that the order and
the bounds on the steps' times allow are looked at; that may be more than any day reaches, never fewer.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import World
from jackstay.timing.spread import Spread
from jackstay.timing.truth import Case, Watching, relevant

MOST_CELLS = 4_000
MOST_STEPS = 300
Cell = tuple[int, int, tuple[int, ...]]  # ended and running, as bits of the steps that matter; how many ended, by actor


class Possible(NamedTuple):
    """began, ended: events (2i the start of step i, 2i + 1 its end); None: the excursion's start, its end."""

    began: int | None
    ended: int | None


def possible_stretches(world: World, flow: ExcursionFlow, case: Case, spread: Spread) -> list[Possible] | None:
    """All of them, each once; None where there are too many cells to look at."""
    watching = Watching(world, flow, (case,))
    watching.look(watching.atoms.values())
    reads = relevant(watching, 0)
    for _ in range(6):
        steps = [step for step in flow.steps if _matters(step, reads, watching)]
        if len(steps) > MOST_STEPS:
            return None
        found = _Cells(watching, flow, steps, spread).all()
        now = relevant(watching, 0)
        if found is None or now == reads:
            return found
        reads = now  # a cell read something new: more steps matter
    return None


def _matters(step: Step, reads: set[int], watching: Watching) -> bool:
    if any(change.var in reads for change in step.changes):
        return True
    return any(watching.doing(step))


class _Cells:
    def __init__(self, watching: Watching, flow: ExcursionFlow, steps: list[Step], spread: Spread) -> None:
        self.watching = watching
        self.start: list[Any] = flow.start
        self.steps = steps
        self.before = [
            sum(1 << j for j, other in enumerate(steps) if other is not step and happens_before(other, step))
            for step in steps
        ]
        self.first_start = [spread.first.start[step.index] for step in steps]
        self.first_end = [spread.first.end[step.index] for step in steps]
        self.last_start = [spread.last.start[step.index] for step in steps]
        self.last_end = [spread.last.end[step.index] for step in steps]
        columns: dict[int, list[int]] = {}
        for i, step in enumerate(steps):
            for column, _ in step.positions:
                columns.setdefault(column, []).append(i)
        self.own = [columns[column] for column in sorted(columns)]
        self.truth: dict[Cell, bool] = {}

    def all(self) -> list[Possible] | None:
        begin: Cell = (0, 0, (0,) * len(self.own))
        entries: dict[tuple[Cell, int | None], None] = {}
        if self._true(begin):
            entries[begin, None] = None
        queue = [begin]
        seen = {begin}
        for cell in queue:
            if len(seen) > MOST_CELLS:
                return None
            for event, after in self._onward(cell):
                if not self._true(cell) and self._true(after):
                    entries[after, event] = None
                if after not in seen:
                    seen.add(after)
                    queue.append(after)
        found: dict[Possible, None] = {}
        reached: dict[Cell, list[int | None]] = {}
        for cell, began in entries:
            if cell not in reached:
                reached[cell] = self._exits(cell)
            for out in reached[cell]:
                found[Possible(began, out)] = None
        return list(found)

    def _exits(self, entry: Cell) -> list[int | None]:
        """The events by which a stretch that has reached this cell may end."""
        found: dict[int | None, None] = {}
        queue = [entry]
        seen = {entry}
        everything = (1 << len(self.steps)) - 1
        for cell in queue:
            if cell[0] == everything:
                found[None] = None
            for event, after in self._onward(cell):
                if not self._true(after):
                    found[event] = None
                elif after not in seen:
                    seen.add(after)
                    queue.append(after)
        return list(found)

    def _onward(self, cell: Cell) -> list[tuple[int, Cell]]:
        """What can happen next: of each actor only the first step that has not ended can begin or end. Along an actor's
        steps the times only grow, so those firsts also bound when anything else can be."""
        ended, running, places = cell
        past = 0
        fronts: dict[int, None] = {}
        for own, place in zip(self.own, places, strict=True):
            if place:
                past = max(past, self.first_end[own[place - 1]])
            if place < len(own):
                fronts[own[place]] = None
        past = max([past, *(self.first_start[i] for i in fronts if running >> i & 1)])
        by = {i: self.last_end[i] if running >> i & 1 else self.last_start[i] for i in fronts}
        found: list[tuple[int, Cell]] = []
        for i in fronts:
            bit = 1 << i
            others = min((when for j, when in by.items() if j != i), default=None)
            if running & bit:
                if others is None or max(past, self.first_end[i]) <= others:
                    moved = tuple(
                        place + (place < len(own) and own[place] == i)
                        for own, place in zip(self.own, places, strict=True)
                    )
                    found.append((2 * self.steps[i].index + 1, (ended | bit, running & ~bit, moved)))
            elif self.before[i] & ended == self.before[i]:
                begun = max(past, self.first_start[i])
                if begun <= self.last_start[i] and (others is None or begun <= others):
                    found.append((2 * self.steps[i].index, (ended, running | bit, places)))
        return found

    def _true(self, cell: Cell) -> bool:
        known = self.truth.get(cell)
        if known is None:
            known = self.truth[cell] = self._evaluate(cell)
        return known

    def _evaluate(self, cell: Cell) -> bool:
        ended, running, _ = cell
        watching = self.watching
        values = watching.state.values
        values[:] = self.start
        watching.flux.clear()
        watching.judge.working.clear()
        watching.judge.moving.clear()
        for i, step in enumerate(self.steps):
            if ended >> i & 1:
                for change in step.changes:
                    values[change.var] = change.after
        for i, step in enumerate(self.steps):
            if running >> i & 1:
                watching.begin(step)
        watching.look(watching.atoms.values())
        return watching.holds(0)
