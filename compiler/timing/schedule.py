"""Earliest times: one forward pass over the starts and ends of an excursion's steps.

Each step is two events. Its end comes its duration after its start; its start comes after the ends of its
predecessors and of each cast member's own step before it; a step beside another (``while``) starts after the other's
start and ends before its end. Joint steps are one step, so their cast starts together by construction.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Mark, Thing
from jackstay.timing.durations import durations as durations_of
from jackstay.timing.records import Delay, Stretch, Times

ZERO = Fraction(0)


class Arc(NamedTuple):
    """From an event to one that comes no sooner than ``gap`` seconds after it (None: an unknown time after it)."""

    source: int
    gap: Fraction | None


def schedule(flow: ExcursionFlow) -> Times | None:
    """Earliest times of the excursion's steps; None when its order is circular and nothing can be timed."""
    if not flow.complete:
        return None
    lengths = durations_of(flow)
    own = own_predecessors(flow)
    arcs = _arcs(flow, lengths, own)
    order = _topological(arcs)
    if order is None:
        return None
    floor = [earliest_allowed(step) for step in flow.steps]
    at: list[Fraction] = [ZERO] * len(arcs)
    vague: list[bool] = [False] * len(arcs)
    for event in order:
        when = floor[event // 2] if event % 2 == 0 else ZERO
        for arc in arcs[event]:
            when = max(when, at[arc.source] + (arc.gap or ZERO))
            vague[event] = vague[event] or vague[arc.source] or arc.gap is None
        at[event] = when
    start, end = tuple(at[0::2]), tuple(at[1::2])
    start_open, end_open = tuple(vague[0::2]), tuple(vague[1::2])
    actor_end: dict[Thing, Fraction] = {}
    actor_open: dict[Thing, bool] = {}
    for actor in flow.columns:
        mine = [step.index for step in flow.steps if actor in step.cast]
        if mine:
            actor_end[actor] = max(end[i] for i in mine)
            actor_open[actor] = any(end_open[i] for i in mine)
    return Times(
        durations=lengths,
        start=start,
        end=end,
        start_open=start_open,
        end_open=end_open,
        makespan=max(end, default=ZERO),
        makespan_open=any(end_open),
        actor_end=actor_end,
        actor_open=actor_open,
        delays=_delays(flow, own, start, end),
        stretches=_stretches(flow, lengths, start, end),
    )


def own_predecessors(flow: ExcursionFlow) -> list[dict[Thing, int]]:
    """Per step: for each of its cast the index of that actor's own step before it, where there is one."""
    last: dict[Thing, int] = {}
    found: list[dict[Thing, int]] = []
    for step in flow.steps:
        found.append({actor: last[actor] for actor in step.cast if actor in last})
        for actor in step.cast:
            last[actor] = step.index
    return found


def earliest_allowed(step: Step) -> Fraction:
    """What ``not before`` on the step, its heading or its task says, in seconds. A drawn tool may be drawn sooner."""
    bounds = list(step.entry.task.bounds)
    if not step.inserted or step.entry.action is None:
        bounds += step.entry.bounds
    return max((bound.value for bound in bounds if bound.sort == "not-before"), default=ZERO)


def _arcs(flow: ExcursionFlow, lengths: tuple[Fraction | None, ...], own: list[dict[Thing, int]]) -> list[list[Arc]]:
    """Incoming arcs of each event; event 2i is the start of step i, 2i + 1 its end."""
    arcs: list[list[Arc]] = [[] for _ in range(2 * len(flow.steps))]
    for step in flow.steps:
        i = step.index
        before = set(flow.predecessors[i]) | set(own[i].values())
        arcs[2 * i].extend(Arc(2 * other + 1, ZERO) for other in sorted(before))
        arcs[2 * i + 1].append(Arc(2 * i, lengths[i]))
    for inner, outer in flow.companions:
        arcs[2 * inner].append(Arc(2 * outer, ZERO))
        arcs[2 * outer + 1].append(Arc(2 * inner + 1, ZERO))
    return arcs


def _topological(arcs: list[list[Arc]]) -> list[int] | None:
    after: list[list[int]] = [[] for _ in arcs]
    missing = [len(incoming) for incoming in arcs]
    for event, incoming in enumerate(arcs):
        for arc in incoming:
            after[arc.source].append(event)
    ready = [event for event, count in enumerate(missing) if count == 0]
    order: list[int] = []
    while ready:
        event = ready.pop()
        order.append(event)
        for later in after[event]:
            missing[later] -= 1
            if missing[later] == 0:
                ready.append(later)
    return order if len(order) == len(arcs) else None


def mark_between(flow: ExcursionFlow, step: Step, cause: int) -> Mark | None:
    """The call of ``cause`` that the step waits for, if that is why one comes after the other."""
    entry = flow.steps[cause].entry
    for wait in (*step.entry.waits, *step.entry.beside):
        if wait.mark.entry is entry:
            return wait.mark
    return None


def _delays(
    flow: ExcursionFlow, own: list[dict[Thing, int]], start: tuple[Fraction, ...], end: tuple[Fraction, ...]
) -> tuple[Delay, ...]:
    found: list[Delay] = []
    outer_of: dict[int, list[int]] = {}
    for inner, outer in flow.companions:
        outer_of.setdefault(inner, []).append(outer)
    for step in flow.steps:
        i = step.index
        for actor in step.cast:
            mine = own[i].get(actor)
            ready = end[mine] if mine is not None else ZERO
            if ready >= start[i]:
                continue
            cause = _cause(flow, own, start, end, i, outer_of.get(i, ()))
            partner = cause is not None and cause in own[i].values()
            found.append(
                Delay(
                    actor,
                    i,
                    ready,
                    start[i],
                    cause,
                    mark_between(flow, step, cause) if cause is not None else None,
                    partner,
                )
            )
    return tuple(found)


def _cause(
    flow: ExcursionFlow,
    own: list[dict[Thing, int]],
    start: tuple[Fraction, ...],
    end: tuple[Fraction, ...],
    i: int,
    outer: "list[int] | tuple[()]",
) -> int | None:
    """The step that lets step i start just then; one whose call is waited for is named first."""
    binding = [p for p in sorted({*flow.predecessors[i], *own[i].values()}) if end[p] == start[i]]
    binding += [m for m in outer if start[m] == start[i]]
    called = [p for p in binding if mark_between(flow, flow.steps[i], p) is not None]
    return next(iter(called or binding), None)


def _stretches(
    flow: ExcursionFlow, lengths: tuple[Fraction | None, ...], start: tuple[Fraction, ...], end: tuple[Fraction, ...]
) -> tuple[Stretch, ...]:
    found: list[Stretch] = []
    for inner, outer in flow.companions:
        extra = end[outer] - start[outer] - (lengths[outer] or ZERO)
        if extra > 0 and end[inner] == end[outer]:
            found.append(Stretch(outer, inner, extra))
    return tuple(found)
