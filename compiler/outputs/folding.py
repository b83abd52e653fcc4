"""Which steps share a node of the order diagram: an inserted step stands in small type in the node of the written step
that it leads to or follows, unless somebody else waits on it alone."""

from __future__ import annotations

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.outputs.views import View, is_written
from jackstay.timing.schedule import own_predecessors


def fold(view: View) -> dict[int, int]:
    """Step index -> index of the step whose node it stands in (itself for a node's own step).

    A step is folded only where that turns no order round: forward into the node that every one of its cast comes to
    next, when nobody outside that node waits for it; back into its own entry's written step, when every one of its cast
    comes from there and it waits for nothing else."""
    flow = view.flow
    before = own_predecessors(flow)
    following: list[set[int]] = [set() for _ in flow.steps]
    leading: list[set[int]] = [set() for _ in flow.steps]
    nexts: list[list[int]] = [[] for _ in flow.steps]
    for step in flow.steps:
        for p in {*flow.predecessors[step.index], *before[step.index].values()}:
            following[p].add(step.index)
            leading[step.index].add(p)
        for p in before[step.index].values():
            nexts[p].append(step.index)
    for inner, outer in flow.companions:
        following[outer].add(inner)
        leading[inner].add(outer)
    home = {step.index: step.index for step in flow.steps}
    for step in flow.steps:  # tools put back: into the step they were drawn for
        if not _may_fold(view, step):
            continue
        nodes = {home[p] for p in leading[step.index]}
        if len(nodes) == 1:
            (node,) = nodes
            # Its whole cast has to come from there; whoever was free before would be held up in the drawing.
            target = flow.steps[node]
            if target.entry is step.entry and is_written(target) and set(step.cast) <= set(target.cast):
                home[step.index] = node
    for step in reversed(flow.steps):
        if not _may_fold(view, step) or home[step.index] != step.index:
            continue
        nodes = {home[n] for n in following[step.index]}
        if len(nodes) == 1 and len(nexts[step.index]) == len(step.cast):
            (node,) = nodes
            if flow.steps[node].entry.task is step.entry.task and _same_round(flow, step, node):
                home[step.index] = node
    return home


def _may_fold(view: View, step: Step) -> bool:
    return not is_written(step) and step.index not in view.calls


def _same_round(flow: ExcursionFlow, step: Step, node: int) -> bool:
    """Only into what the same actor does next in the same block."""
    target = flow.steps[node]
    return target.entry.block is step.entry.block or target.entry is step.entry
