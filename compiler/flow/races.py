"""Conflicts: two steps that touch one variable, at least one changing it, and that nothing orders.

Theorem: an acyclic plan's needs and effects hold under any timing iff no such pair exists and one replay succeeds.
(Orders connect by swaps of neighbouring unordered steps; without a conflict those touch disjoint variables.)
"""

from __future__ import annotations

from typing import NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Thing


class Race(NamedTuple):
    """first comes first in the replay, but nothing says so. var: what both touch."""

    var: int
    first: Step
    second: Step


def find_races(flow: ExcursionFlow) -> list[Race]:
    """At least one race for every variable that has any: neighbouring accesses in the replay are compared."""
    written = {var for step in flow.steps for var, _, _ in step.changes}  # the others cannot race
    writers: dict[int, Step] = {}
    readers: dict[int, list[Step]] = {}  # since the last writer
    out: list[Race] = []
    for step in flow.steps:
        clock = step.clock
        changed = [var for var, _, _ in step.changes]
        for var in step.reads:
            if var not in written or var in changed:
                continue
            writer = writers.get(var)
            if writer is not None:
                column, position = writer.positions[0]
                if clock[column] <= position:
                    out.append(Race(var, writer, step))
            since = readers.get(var)
            if since is None:
                readers[var] = [step]
            else:
                since.append(step)
        for var in changed:
            writer = writers.get(var)
            if writer is not None:
                column, position = writer.positions[0]
                if clock[column] <= position:
                    out.append(Race(var, writer, step))
            for reader in readers.pop(var, ()):
                column, position = reader.positions[0]
                if clock[column] <= position:
                    out.append(Race(var, reader, step))
            writers[var] = step
    out.sort(key=lambda race: race.var)
    return out


def find_carried_off(flow: ExcursionFlow) -> list[Race]:
    """Someone gets off a seat while someone else may move away with it: then where the rider is, and the room there, is
    a matter of timing, though the two touch no variable in common when the rider is off first."""
    movers: dict[Thing, list[Step]] = {}
    for step in flow.steps:
        for seat in step.moved_seats:
            movers.setdefault(seat, []).append(step)
    out = []
    for step in flow.steps:
        for seat in step.left_seats:
            for mover in movers.get(seat, ()):
                if mover is not step and not happens_before(mover, step) and not happens_before(step, mover):
                    first, second = (mover, step) if mover.index < step.index else (step, mover)
                    out.append(Race(seat.held_var, first, second))
    return out
