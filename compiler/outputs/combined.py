"""The combined sheet: everybody's steps in one list, by the clock, with waits named.

The clock's order never contradicts the proven one: a step starts after the end of whatever it waits for, and of two
that start at once the earlier one in the proven order stands first."""

from __future__ import annotations

from collections.abc import Iterator

from jackstay.flow.records import Step
from jackstay.model.records import Task, Thing, World
from jackstay.outputs.balance import changes_of_light
from jackstay.outputs.cards import aside, card_numbers
from jackstay.outputs.deck import marks, part
from jackstay.outputs.deck_records import Deck, Row
from jackstay.outputs.deck_rows import Numbers, light_row, step_rows, task_row, wait_rows
from jackstay.outputs.look import actor_styles
from jackstay.outputs.views import View, is_written
from jackstay.outputs.wording import labels


def combined(world: World, views: list[View]) -> Deck:
    cards = card_numbers(views)
    styles = actor_styles(views)
    letters = {actor: style.letter for actor, style in styles.items()}
    return Deck(
        "combined",
        "Everybody",
        "",
        "",
        "",
        tuple(part(view, len(views), None, rows=list(_rows(view, cards, letters))) for view in views),
        tuple(card for view in views for card in aside(view, None, cards)),
        marks(styles),
    )


def in_order(view: View) -> list[Step]:
    """All steps by their nominal start."""
    times = view.times
    return [] if times is None else sorted(view.flow.steps, key=lambda step: (times.start[step.index], step.index))


def _rows(view: View, cards: Numbers, letters: dict[Thing, str]) -> Iterator[Row]:
    if view.times is None:
        return
    turns = changes_of_light(view, view.times)
    tasks: set[Task] = set()
    count = 0
    for step in in_order(view):
        rows = list(_step(view, step, count + 1, cards))
        if not rows:
            continue
        while turns and turns[0][0] <= view.times.start[step.index]:
            yield light_row(*turns.pop(0))
        if step.entry.task not in tasks:
            tasks.add(step.entry.task)
            yield task_row(step.entry.task)
        count += is_written(step)
        mark = tuple(letters[actor] for actor in step.cast)
        yield from (row._replace(marks=mark) for row in rows)


def _step(view: View, step: Step, number: int, cards: Numbers) -> Iterator[Row]:
    """As the leader's own list has it, told of everybody; with the waits of each of the cast."""
    if not step.cast:
        return
    lead = labels(step.cast[:1])
    rows = list(step_rows(view, step.cast[0], step, number, cards))
    told = {(row.text, row.call) for row in rows if row.sort == "wait"}
    for other in step.cast[1:]:
        for row in wait_rows(view, other, step):
            if row.sort == "wait" and (row.text, row.call) not in told:
                told.add((row.text, row.call))
                yield row._replace(who=labels([other]))
    for row in rows:
        if row.sort in ("step", "way", "call"):
            yield row._replace(who=labels(step.cast), caller=row.caller or (lead if row.call else ""))
        else:
            yield row._replace(who=lead) if row.sort in ("wait", "beside") else row
