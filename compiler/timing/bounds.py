"""The bounds of one way of flying an excursion: ``by``, ``within``, light."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import TimeBound
from jackstay.source.spans import Span
from jackstay.timing.deadlines import chain, clash, deadlines
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import Early, unlit

Report = Callable[..., None]
ZERO = Fraction(0)


def all_bounds(one: ExcursionFlow) -> Iterable[TimeBound]:
    for steps in one.by_entry.values():
        if steps:
            yield from steps[0].entry.bounds
    for task in one.excursion.tasks:
        yield from task.bounds


def light_not_said(graph: EventGraph, report: Report) -> None:
    for bound in dict.fromkeys(all_bounds(graph.flow)):
        if bound.sort == "light":
            why = f"{graph.flow.excursion.name} does not say when it is light: it has no `light` line"
            report("not-decided", bound.at, what="time", about=f"a step is in {bound.word}", reason=why)


def check_bounds(graph: EventGraph, early: Early, report: Report) -> None:
    """``never-in-light``, ``past-time``, ``not-within`` and ``times-clash``."""
    told: set[Span] = set()
    for i in unlit(graph, early):
        step = graph.flow.steps[i]
        at = next((b.at for b in (*step.entry.bounds, *step.entry.task.bounds) if b.sort == "light"), step.entry.at)
        if at not in told:
            told.add(at)
            needs, ready = graph.seconds(graph.most[i]), graph.seconds(early.start[i])
            report("never-in-light", at, step=step, word=graph.light[i], needs=needs, ready=ready)
    late: dict[TimeBound, tuple[Fraction, int]] = {}
    for one in deadlines(graph, reserve=True):
        if one.bound is not None and one.target is not None:
            by = one.late(graph, early)
            if by > late.get(one.bound, (ZERO, 0))[0]:
                late[one.bound] = (by, one.target)
    for bound, (by, target) in late.items():
        report(
            "past-time",
            bound.at,
            bound=bound,
            late=by,
            step=graph.flow.steps[target >> 1],
            end=graph.seconds(early.at(target)),
            chain=chain(graph, early, target),
        )
    found = clash(graph)
    if found is not None and len(found.maxima) == 1:
        report("not-within", found.maxima[0].bound.at, clash=found, graph=graph)
    elif found is not None:
        report("times-clash", found.maxima[0].bound.at, clash=found, graph=graph)
