"""Happens-before: for each step, how many steps of each actor have surely ended when it starts.

One vector a step, one pass. A step s happens before t iff t's clock counts s in any of the lists that s stands in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from jackstay.flow.records import ExcursionFlow, Step


def set_clocks(flow: ExcursionFlow) -> None:
    """Fill ``Step.clock``. O(steps x actors); vectors are shared along stretches that nothing crosses."""
    width = len(flow.columns)
    zero = (0,) * width
    within: dict[int, list[int]] = {}
    for s, m in flow.companions:
        within.setdefault(m, []).append(s)
    outer: dict[int, list[int]] = {}
    for s, m in flow.companions:
        outer.setdefault(s, []).append(m)
    done: list[tuple[int, ...]] = []  # what has surely ended once the step has
    predecessors = flow.predecessors
    for step in flow.steps:
        into = predecessors[step.index]
        if step.index in outer:
            # it runs within m, so it starts after all that m starts after
            into = (*into, *(p for m in outer[step.index] for p in predecessors[m] if p < step.index))
        if not into:
            clock = zero
        elif len(into) == 1:
            clock = done[into[0]]
        else:
            first = done[into[0]]
            clock = first
            for p in into[1:]:
                other = done[p]
                if other is not clock and other != clock:
                    clock = tuple(map(max, clock, other))
        step.clock = clock
        after = list(clock)
        for column, position in step.positions:
            if after[column] <= position:
                after[column] = position + 1
        for s in within.get(step.index, ()):
            after = list(map(max, after, done[s])) if s < step.index else after
        done.append(tuple(after))


def happens_before(s: Step, t: Step) -> bool:
    """Whether s has surely ended when t starts."""
    column, position = s.positions[0]
    return t.clock[column] > position


def over_with(flow: ExcursionFlow, step: Step) -> tuple[int, ...]:
    """For each actor, how many steps have surely ended when this one has: those that run within it too."""
    over = list(step.clock)
    for column, position in step.positions:
        over[column] = max(over[column], position + 1)
    for inner, outer in flow.companions:
        if outer == step.index and inner < outer:
            over = list(map(max, over, over_with(flow, flow.steps[inner])))
    return tuple(over)


@contextmanager
def called(flow: ExcursionFlow, calls: Iterable[tuple[int, int]]) -> Iterator[None]:
    """More order for a while: in each pair of indices the second step waits for the first, which comes before it in the
    replay."""
    predecessors, clocks = flow.predecessors, [step.clock for step in flow.steps]
    more: dict[int, list[int]] = {}
    for said, heard in calls:
        more.setdefault(heard, []).append(said)
    flow.predecessors = list(predecessors)
    for heard, said_before in more.items():
        flow.predecessors[heard] = tuple(dict.fromkeys([*predecessors[heard], *said_before]))
    try:
        set_clocks(flow)
        yield
    finally:
        flow.predecessors = predecessors
        for step, clock in zip(flow.steps, clocks, strict=True):
            step.clock = clock
