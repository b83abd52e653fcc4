"""Conflicts: two steps that touch one variable, at least one changing it, and that nothing orders.

Theorem: an acyclic plan's needs and effects hold under any timing iff no such pair exists and one replay succeeds.
(Orders connect by swaps of neighbouring unordered steps; without a conflict those touch disjoint variables.)
"""

from __future__ import annotations

from typing import NamedTuple

from jackstay.flow.records import ExcursionFlow, Step


class Race(NamedTuple):
    """first comes first in the replay, but nothing says so. var: what both touch."""

    var: int
    first: Step
    second: Step


def find_races(flow: ExcursionFlow) -> list[Race]:
    """At least one race for every variable that has any: neighbouring accesses in the replay are compared."""
    written = {change.var for step in flow.steps for change in step.changes}  # of the others, nothing can come of reading
    writers: dict[int, Step] = {}
    readers: dict[int, list[Step]] = {}  # since the last writer
    out: list[Race] = []
    for step in flow.steps:
        clock = step.clock
        changed = [change.var for change in step.changes]
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
