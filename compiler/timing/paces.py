"""Whether no step takes less than its action allows: ``no faster than FORMULA``."""

from __future__ import annotations

from collections.abc import Callable

from jackstay.timing.events import EventGraph
from jackstay.timing.formulas import evaluate


def check_paces(graph: EventGraph, report: Callable[..., None]) -> None:
    """``too-fast`` for each step that may take less than its action allows."""
    if all(step.action is None or step.action.no_faster is None for step in graph.flow.steps):
        return
    state = list(graph.flow.start)
    for step in graph.flow.steps:
        triple = graph.triples[step.index]
        if triple is not None and step.action is not None and step.action.no_faster is not None:
            least = evaluate(step.action.no_faster, state, step.binding, step.length)
            if least is not None and triple.least < least:
                report("too-fast", step.entry.at, step=step, least=least, takes=triple.least)
            elif least is None:
                about, reason = f"{step.action.text} is slow enough", "the least time has no value here"
                report("not-decided", step.entry.at, what="time", about=about, reason=reason)
        for change in step.changes:
            state[change.var] = change.after
