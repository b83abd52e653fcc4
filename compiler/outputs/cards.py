"""Cards that are used only when they are called: fallbacks, and tasks on a condition that does not hold in the plan as
written. Neither is part of the nominal order, so their ways, tools and times are not worked out; what is written is
printed."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.model.records import Block, Entry, Excursion, Fallback, Guard, Task, Thing
from jackstay.outputs.deck_records import Card, Row
from jackstay.outputs.deck_rows import Numbers, answers_of, beside_row, remark_row, under_rows, wait_row
from jackstay.outputs.views import View
from jackstay.outputs.wording import caller, entry_text, labels, source_place, speaks, spoken, where_to
from jackstay.outputs.words import said

OPEN = (
    "Your own steps have a box. Ways, and tools to draw, are not worked out here: they hang on where everyone is when "
    "the card is called."
)
NOTHING_AFTER = "Nothing comes after this card: what it does not replace is not done either."


def card_numbers(views: list[View]) -> Numbers:
    """``F1`` and on, over the whole campaign: the same in every deck."""
    fallbacks = [fallback for view in views for fallback in view.excursion.fallbacks]
    return {fallback: f"F{number}" for number, fallback in enumerate(fallbacks, start=1)}


def aside(view: View, actor: Thing | None, cards: Numbers) -> Iterator[Card]:
    """actor: whose steps have a box; None: everybody's."""
    flown = {step.entry.task for step in view.flow.steps}
    count = 0
    for task in view.excursion.tasks:
        if task.guard is not None and task not in flown:
            count += 1
            yield _condition(task, task.guard, view, actor, cards, f"G{view.number}.{count}")
    for fallback in view.excursion.fallbacks:
        yield _fallback(fallback, view, actor, cards)


def _fallback(fallback: Fallback, view: View, actor: Thing | None, cards: Numbers) -> Card:
    about = [f"{_part(view)}.", called_from(fallback, view.excursion)]
    if fallback.mark is not None:
        about.append(f'Holds from {caller(fallback.mark)}\'s "{spoken(fallback.mark)}" on.')
    if fallback.instead:
        about.append(f"Instead of: {', '.join(task.title for task in fallback.instead)}.")
    then = ", ".join(task.title for task in fallback.then)
    return Card(
        cards[fallback],
        "fallback",
        fallback.title,
        f"fallback {fallback.name}",
        (*about, OPEN),
        rows=tuple(_rows(fallback.body, actor, cards)),
        then=f"Then: {then}." if then else NOTHING_AFTER,
        source=source_place(fallback.decl),
        part=_part(view),
    )


def _condition(task: Task, guard: Guard, view: View, actor: Thing | None, cards: Numbers, number: str) -> Card:
    about = [f"{_part(view)}; {task.rank}. It is not in the list."]
    if task.after:
        about.append(f"After {', '.join(one.title for one in task.after)}.")
    return Card(
        number,
        "condition",
        task.title,
        f"only if {' and '.join(test.text for test in guard.tests)}",
        (*about, OPEN),
        rows=tuple(_rows(task, actor, cards)),
        source=source_place(task.decl),
        part=_part(view),
    )


def _part(view: View) -> str:
    return f"{said(view.world).heading} {view.number}, {view.excursion.title}"


def _rows(task: Task, actor: Thing | None, cards: Numbers) -> Iterator[Row]:
    block: Block | None = None
    count = 0
    for entry in task.entries:
        if entry.block is not block:
            block = entry.block
            yield Row("task", _heading(block), source=source_place(block.at))
        for wait in entry.waits:
            yield wait_row(wait)
        for wait in entry.beside:
            yield beside_row(wait)
        count += _has_text(entry)
        yield from _entry(entry, actor, cards, count)
    if task.done_when:
        yield Row("task", f"Done when {' and '.join(test.text for test in task.done_when)}")


def _has_text(entry: Entry) -> bool:
    return entry.action is not None or entry.hole


def _entry(entry: Entry, actor: Thing | None, cards: Numbers, number: int) -> Iterator[Row]:
    call = spoken(entry.says) if entry.says is not None else ""
    said_by = caller(entry.says) if entry.says is not None and not (actor and speaks(entry.says, actor)) else ""
    if not _has_text(entry):
        if call:
            yield Row("call", "", call=call, caller=said_by, source=source_place(entry.at))
        return
    for remark in entry.remarks:
        yield remark_row(remark)
    yield Row(
        "step" if actor is None or actor in entry.cast else "other",
        entry_text(entry),
        who=labels(entry.cast),
        number=str(number),
        call=call,
        caller=said_by,
        expect=entry.expect.text if entry.expect is not None else "",
        under=under_rows(entry),
        answers=answers_of(entry, cards),
        source=source_place(entry.at),
    )


def _heading(block: Block) -> str:
    where = where_to(block) if block.place is not None or block.seat is not None else ""
    riders = f", {labels(block.riders)} riding" if block.riders else ""
    return f"{labels(block.doers)} {where}".rstrip() + riders


def called_from(fallback: Fallback, excursion: Excursion) -> str:
    """Which steps lead to the card."""
    callers = [
        f"{labels(entry.cast)}, {entry_text(entry)} ({source_place(answer.at)}), if {answer.outcome}"
        for entry in excursion.entries
        for answer in entry.answers
        if answer.fallback is fallback
    ]
    return f"Called by {'; '.join(callers)}." if callers else "No step calls it by itself."
