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
    touched: dict[int, list[tuple[Step, bool]]] = {}
    for step in flow.steps:
        written = {change.var for change in step.changes}
        for var in step.reads:
            if var not in written:
                touched.setdefault(var, []).append((step, False))
        for var in written:
            touched.setdefault(var, []).append((step, True))
    out: list[Race] = []
    for var in sorted(touched):
        accesses = touched[var]
        if not any(writes for _, writes in accesses):
            continue
        writer: Step | None = None
        readers: list[Step] = []
        for step, writes in accesses:
            column_clock = step.clock
            if writer is not None:
                column, position = writer.positions[0]
                if column_clock[column] <= position:
                    out.append(Race(var, writer, step))
            if not writes:
                readers.append(step)
                continue
            for reader in readers:
                column, position = reader.positions[0]
                if column_clock[column] <= position and reader is not step:
                    out.append(Race(var, reader, step))
            writer, readers = step, []
    return out
