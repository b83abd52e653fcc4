"""Cards at the end of a checklist: fallbacks, and tasks that are only done on a condition. Neither is part of the
nominal order, so their ways, tools and times are not worked out; what is written is printed."""

from __future__ import annotations

from jackstay.model.records import Block, Entry, Excursion, Fallback, Guard, Remark, Task, Thing
from jackstay.outputs.paper import heading, row, wrap
from jackstay.outputs.views import View
from jackstay.outputs.wording import bound_text, caller, entry_text, labels, source_place, spoken, where_to

DEPTH = " " * 11  # what belongs to a step stands under its text
BLANK = "____________"
OPEN = (
    "Your own steps have a box. The ways and the tools to draw are not worked out on a card: they hang on where "
    "everyone is when it is called."
)


def remark_lines(remark: Remark, indent: str) -> list[str]:
    head = f"{indent}{remark.sort.upper()}: "
    return wrap(remark.text, head, " " * len(head))


def under(entry: Entry) -> list[str]:
    """What stands under a step: the expected reading, its bounds, the reason, what to do if it goes wrong."""
    lines: list[str] = []
    if entry.expect is not None:
        lines += wrap(f"expected {entry.expect.text}    actual {BLANK}", DEPTH)
    if entry.bounds:
        lines += wrap(", ".join(bound_text(bound) for bound in entry.bounds), DEPTH)
    if entry.because:
        lines += wrap(f"why: {entry.because}", DEPTH)
    for answer in entry.answers:
        what = f"card {answer.fallback.name.upper()}" if answer.fallback is not None else "go on"
        lines += wrap(f"if {answer.outcome}: {what}", DEPTH)
    return lines


def fallback_card(fallback: Fallback, view: View, actor: Thing) -> list[str]:
    lines = heading(f"CARD {fallback.name.upper()}: {fallback.title}", source_place(fallback.decl), "~")
    lines += wrap(f"Excursion {view.number}, {view.excursion.title}. {called_from(fallback, view.excursion)}")
    if fallback.mark is not None:
        lines += wrap(f'Holds from {caller(fallback.mark)}\'s "{spoken(fallback.mark)}" on.')
    if fallback.instead:
        lines += wrap(f"Instead of: {', '.join(task.title for task in fallback.instead)}.")
    lines += wrap(OPEN)
    lines += _steps(fallback.body, actor)
    then = ", ".join(task.title for task in fallback.then)
    lines += ["", *wrap(f"Then: {then}." if then else "Then go on with the next step that this card does not replace.")]
    return lines


def guarded_card(task: Task, guard: Guard, view: View, actor: Thing) -> list[str]:
    lines = heading(
        f"ONLY IF {' and '.join(test.text for test in guard.tests)}: {task.title}", source_place(task.decl), "~"
    )
    after = f" After {', '.join(one.title for one in task.after)}." if task.after else ""
    lines += wrap(f"Excursion {view.number}, {view.excursion.title}; {task.rank}.{after} It is not in the list above.")
    lines += wrap(OPEN)
    return [*lines, *_steps(task, actor)]


def _steps(task: Task, actor: Thing) -> list[str]:
    lines: list[str] = []
    block: Block | None = None
    count = 0
    for entry in task.entries:
        if entry.block is not block:
            block = entry.block
            where = where_to(block) if block.place or block.seat else ""
            riders = f", {labels(block.riders)} riding" if block.riders else ""
            lines += ["", *wrap(f"{labels(block.doers)} {where}".rstrip() + riders, "   ")]
        for wait in entry.waits:
            lines += wrap(f'WAIT for {caller(wait.mark)}: "{spoken(wait.mark)}"', DEPTH)
        for wait in entry.beside:
            lines += wrap(f'BESIDE {caller(wait.mark)}, up to "{spoken(wait.mark)}"', DEPTH)
        if entry.action is not None or entry.hole:
            for remark in entry.remarks:
                lines += remark_lines(remark, DEPTH)
            count += 1
            box = "[ ]" if actor in entry.cast else " - "
            lines += row(f"{labels(entry.cast)}: {entry_text(entry)}", f"  {box} {count:>3}  ", source_place(entry.at))
            lines += under(entry)
        if entry.says is not None:
            lines += wrap(f'{caller(entry.says)} calls "{spoken(entry.says)}"', DEPTH)
    if task.done_when:
        lines += ["", *wrap(f"Done when {' and '.join(test.text for test in task.done_when)}.", "   ")]
    return lines


def called_from(fallback: Fallback, excursion: Excursion) -> str:
    """Which steps lead to the card."""
    callers = [
        f"{source_place(answer.at)} (if {answer.outcome})"
        for entry in excursion.entries
        for answer in entry.answers
        if answer.fallback is fallback
    ]
    return f"Called at {'; '.join(callers)}." if callers else "No step calls it by itself."
