"""One actor's checklist over the whole campaign."""

from __future__ import annotations

from jackstay.flow.records import Step
from jackstay.model.records import Block, Task, Thing
from jackstay.outputs.cards import DEPTH, fallback_card, guarded_card, remark_lines, under
from jackstay.outputs.clock import minutes
from jackstay.outputs.frame import Frame
from jackstay.outputs.paper import heading, row, wrap
from jackstay.outputs.timeline import excursion_head
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_anchor, is_idle, is_written, others
from jackstay.outputs.wording import (
    bound_text,
    caller,
    label,
    labels,
    source_place,
    speaks,
    spoken,
    step_text,
    where_to,
    who_does,
)

REQUIRED = "required"  # the rank that no one may drop; ranks are part of the grammar


def actors_of(views: list[View]) -> list[Thing]:
    """Everyone who has a checklist: the crews, and whoever else takes part in a step, in the order declared."""
    found = {actor.index: actor for view in views for actor in view.own}
    return [found[index] for index in sorted(found)]


def checklist(views: list[View], actor: Thing, frame: Frame) -> str:
    """checklist-<actor>.txt"""
    lines = frame.head(f"Checklist: {label(actor)}" + (f", run by {label(actor.runner)}" if actor.runner else ""))
    lines += wrap(
        "Top to bottom. '>' is inserted: the way to the next place, a tool drawn or put back; it has no number. "
        "Warnings and cautions stand before the step they belong to. Cards are at the end."
    )
    for view in views:
        if actor not in view.own:
            continue
        lines += ["", "", *excursion_head(view, len(views))]
        role = next((member.role for member in view.excursion.crew if member.actor is actor and member.role), None)
        if role:
            lines.append(f"Your part: {role}.")
        lines += _excursion(view, actor)
    for view in views:
        if actor not in view.own:
            continue
        for task in view.excursion.tasks:
            if task.guard is not None:
                lines += ["", "", *guarded_card(task, task.guard, view, actor)]
        for fallback in view.excursion.fallbacks:
            lines += ["", "", *fallback_card(fallback, view, actor)]
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _excursion(view: View, actor: Thing) -> list[str]:
    if view.times is None:
        return [NOT_WORKED_OUT]
    lines: list[str] = []
    head: list[str] = []
    tasks: set[Task] = set()
    count = 0
    for step in view.own[actor]:
        rows = _step(view, actor, step, count + 1)
        if not rows:
            continue
        here = heading(block_heading(step.entry.block, actor), f"{step.entry.task.title}: {step.entry.task.rank}")
        if here != head:
            lines += ["", *here]
            head = here
        if step.entry.task not in tasks:
            tasks.add(step.entry.task)
            lines += _task(step.entry.task)
        lines += rows
        count += is_written(step)
    return lines or ["", "  no steps"]


def block_heading(block: Block, actor: Thing) -> str:
    """Where a block is, said to one of those who take part in it."""
    where = where_to(block)
    if actor in block.doers:
        company = others(block.doers, actor)
        riders = f", {labels(block.riders)} riding" if block.riders else ""
        return where[:1].upper() + where[1:] + (f", with {labels(company)}" if company else "") + riders
    if actor in block.riders:
        return f"Riding {labels(block.doers)}" + (f", {where}" if block.place is not None else "")
    run = [doer for doer in block.doers if doer.runner is actor]
    who = f"Running {labels(run)}" if run else f"With {labels(block.doers)}"
    return who + (f", {where}" if block.place is not None or block.seat is not None else "")


def _task(task: Task) -> list[str]:
    lines: list[str] = []
    if task.rank != REQUIRED:
        lines += wrap(f'MAY BE DROPPED ({task.rank}): the task "{task.title}".', "   ")
    if task.after:
        lines += wrap(
            f"After the task{'s' if len(task.after) > 1 else ''} {', '.join(t.title for t in task.after)}.", "   "
        )
    if task.along_with:
        lines += wrap(f"Only together with {', '.join(t.title for t in task.along_with)}.", "   ")
    if task.bounds:
        lines += wrap(f"The task: {', '.join(bound_text(bound) for bound in task.bounds)}.", "   ")
    if task.done_when:
        lines += wrap(f"Done when {' and '.join(test.text for test in task.done_when)}.", "   ")
    return lines


def _step(view: View, actor: Thing, step: Step, number: int) -> list[str]:
    i, entry = step.index, step.entry
    main = is_anchor(view, actor, step)
    lines: list[str] = []
    for wait in view.waits.get(i, ()):
        lines += wrap(f'WAIT for {caller(wait.mark)}: "{spoken(wait.mark)}"', DEPTH)
    for wait in view.beside.get(i, ()):
        lines += wrap(
            f'BESIDE {caller(wait.mark)}, once the step that ends with "{spoken(wait.mark)}" has begun; it is not '
            "over before this one is",
            DEPTH,
        )
    if main:
        for remark in entry.remarks:
            lines += remark_lines(remark, DEPTH)
    after = [*(under(entry) if main else []), *_call(view, actor, step)]
    if is_idle(step):
        return [*lines, *after]
    text = who_does(step.cast, actor) + step_text(step)
    seconds = view.times.durations[i] if view.times is not None else None
    text += f"  ({minutes(seconds)})"
    first = f"  [ ] {number:>3}  " if is_written(step) else f"{' ' * 9}> "
    return [*lines, *row(text, first, source_place(entry.at)), *after]


def _call(view: View, actor: Thing, step: Step) -> list[str]:
    said = view.calls.get(step.index)
    if said is None:
        return []
    return wrap(f'CALL "{spoken(said)}"' if speaks(said, actor) else f'{caller(said)} calls "{spoken(said)}"', DEPTH)
