"""What the flow analysis found: every step as it is really done, in a proven order, with the state it leaves.

Facts only. Whether they are good is judged by the rules.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.model.records import Action, Entry, Excursion, Task, Thing, World
from jackstay.source.record import Entity, fresh


class Change(NamedTuple):
    """One write of a step: a variable's value before and after, as state values (see `flow.state`)."""

    var: int
    before: Any
    after: Any


class Step(Entity):
    """A step as done: written in the plan (``inserted`` False) or inserted by a heading or a use of a tool.

    cast: who is occupied. positions: its number in each cast member's own list. reads: variables that must not change
    while it runs. route: the places walked through, ends included, for an inserted move; length: its metres."""

    index: int  # in the replayed order, over this excursion
    entry: Entry
    action: Action | None  # None: a hole, or an arrival with nothing to do
    binding: tuple[Any, ...]
    cast: tuple[Thing, ...]
    inserted: bool
    why: str = ""  # an inserted step: what it serves, as a clause of the heading or action
    route: tuple[Thing, ...] = ()
    length: Fraction = Fraction(0)
    reads: tuple[int, ...] = ()
    changes: tuple[Change, ...] = ()
    clock: tuple[int, ...] = ()  # per actor of the excursion: how many of its steps have surely ended at the start
    left_seats: tuple[Thing, ...] = ()  # what its doers got off
    moved_seats: tuple[Thing, ...] = ()  # what it moved, with whoever sits in it
    positions: tuple[tuple[int, int], ...] = ()  # (actor's column, number of this step in its list)


class ExcursionFlow(Entity):
    """columns: actor -> column of the clocks. steps: in the replayed order. arrivals and ends: states (lists indexed by
    variable). outside_before: items out at the start."""

    excursion: Excursion
    columns: dict[Thing, int]
    steps: list[Step] = fresh(factory=list)
    by_entry: dict[int, list[Step]] = fresh(factory=dict)  # entry index -> its steps, inserted ones included
    start: list[Any] = fresh(factory=list)
    end: list[Any] = fresh(factory=list)
    problems: list[Problem] = fresh(factory=list)
    complete: bool = True  # False: the order is circular, nothing was replayed
    predecessors: list[tuple[int, ...]] = fresh(factory=list)  # per step: direct start-after-end predecessors
    companions: list[tuple[int, int]] = fresh(factory=list)  # (s, m): s runs within m (``while``)
    # per droppable task, with what goes only with it: what ends otherwise without it, variable -> value
    without: list[tuple[tuple[Task, ...], dict[int, Any]]] = fresh(factory=list)


class Flow(Entity):
    world: World
    excursions: list[ExcursionFlow] = fresh(factory=list)
    problems: list[Problem] = fresh(factory=list)  # of the written start
