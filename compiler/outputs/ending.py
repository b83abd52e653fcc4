"""The configuration at the end of each excursion: what is outside and how it hangs there, what is not as it
normally is, what has moved. What is otherwise when a droppable task is dropped is marked with that task."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from jackstay.model.records import Thing, Value, World
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.situation import describe, is_inside, line_ends
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import label, value_text
from jackstay.outputs.words import said
from jackstay.timing.formulas import property_in


class Odd(NamedTuple):
    """A property that does not stand as it normally does."""

    thing: Thing
    prop: str
    value: Value
    normal: Value


def not_normal(world: World, state: list[Any]) -> list[Odd]:
    return [
        Odd(thing, prop, value, normal)
        for thing in world.things
        for prop, normal in thing.normal.items()
        if (value := property_in(state, thing, prop)) != normal
    ]


def moved(world: World, view: View) -> list[Thing]:
    """Items and actors whose own attachment, line end or place differs between start and end; what merely lies in a
    carried thing has not moved by itself."""
    start, end = view.flow.start, view.flow.end
    found = []
    for thing in world.things:
        own = [var for var in (thing.place_var, thing.held_var, thing.from_var, thing.to_var) if var >= 0]
        if any(start[var] != end[var] for var in own):
            found.append(thing)
    return found


def ending(world: World, views: list[View], frame: Frame) -> str:
    """end.txt"""
    lines = frame.head(frame.said.put("Configuration at the end of each excursion"))
    for view in views:
        lines += ["", *excursion_head(view, len(views))]
        lines += [NOT_WORKED_OUT] if view.times is None else _excursion(world, view)
    return "\n".join([*lines, *frame.set_aside(), *frame.foot()]) + "\n"


class Otherwise(NamedTuple):
    """The end without a droppable task and what goes only with it. name: the tasks, as printed."""

    name: str
    state: list[Any]


def otherwise(view: View) -> list[Otherwise]:
    """The ends that are not that of the plan as written, one for each droppable task that it depends on."""
    found = []
    for tasks, values in view.flow.without:
        state = list(view.flow.end)
        for var, value in values.items():
            state[var] = value
        here = view.excursion
        names = [t.name if t.excursion is here else f"{t.excursion.name}.{t.name}" for t in tasks]
        found.append(Otherwise(" and ".join(names), state))
    return found


def _excursion(world: World, view: View) -> list[str]:
    start, end = view.flow.start, view.flow.end
    others = otherwise(view)
    left = {one.thing: one.until for one in view.excursion.left_outside}

    def things(listed: Callable[[list[Any], Thing], bool]) -> list[str]:
        """Where each thing is that is listed at the end, or would be without a task."""
        rows = []
        for thing in world.things:
            now = f"{describe(end, thing)}{_left(thing, left)}" if listed(end, thing) else None
            also = [(one.name, describe(one.state, thing)) for one in others if listed(one.state, thing)]
            also += [(one.name, "not so") for one in others if now and not listed(one.state, thing)]
            rows += _row(f"{label(thing)} - ", now, [(n, text) for n, text in also if text != describe(end, thing)])
        return rows

    lines = _list(
        said(world).put("Items outside"),
        things(lambda state, x: x.sort == "item" and not x.kind.ends and is_inside(state, x) is False),
    )
    lines += _list("Line ends", things(lambda state, x: x.kind.ends and line_ends(state, x) != (None, None)))
    lost = things(lambda state, x: x.sort == "item" and is_inside(state, x) is None)
    if lost:
        lines += _list("Hang on nothing that has a place", lost)
    lines += _list("Not as it normally is", _odd(world, end, others))
    lines += _list("Crew and machines", things(lambda _, x: x.sort == "actor"))
    lines += _list(
        "Moved since the start",
        [
            f"{label(thing)}: {describe(start, thing)} -> {describe(end, thing)}"
            for thing in moved(world, view)
            if thing.sort == "item"
        ],
    )
    lines += _list("Set since the start", _set(world, start, end, others))
    return lines


def _odd(world: World, end: list[Any], others: list[Otherwise]) -> list[str]:
    """Each property that is not as it normally is, at the end or without a task."""
    now = {(odd.thing, odd.prop): odd for odd in not_normal(world, end)}
    without = [(one.name, {(odd.thing, odd.prop): odd for odd in not_normal(world, one.state)}) for one in others]
    rows = []
    for thing in world.things:
        for prop, normal in thing.normal.items():
            odd = now.get((thing, prop))
            also = [(name, odds.get((thing, prop))) for name, odds in without]
            rows += _row(
                f"{prop} of {label(thing)} is ",
                f"{_shown(thing, prop, odd.value)}, normally {_shown(thing, prop, normal)}" if odd else None,
                [
                    (name, _shown(thing, prop, other.value if other else normal))
                    for name, other in also
                    if (other and other.value) != (odd and odd.value)
                ],
            )
    return rows


def _set(world: World, start: list[Any], end: list[Any], others: list[Otherwise]) -> list[str]:
    rows = []
    for var in world.variables:
        before, after = start[var.id], end[var.id]
        if var.sort == "property" and before != after:
            shown = [_shown(var.thing, var.prop, value) for value in (before, after)]
            also = [(o.name, _shown(var.thing, var.prop, o.state[var.id])) for o in others if o.state[var.id] != after]
            rows += _row(f"{var.prop} of {label(var.thing)}: ", " -> ".join(shown), also)
    return rows


def _row(head: str, now: str | None, also: list[tuple[str, str]]) -> list[str]:
    """One row, or none. now: what is so at the end of the plan as written; also: what is so instead without tasks."""
    if now is None and not also:
        return []
    marks = [f"without {name}: {text}" for name, text in also]
    return [head + ("; ".join([now, *marks]) if now is not None else "only " + "; ".join(marks))]


def _left(thing: Thing, left: dict[Thing, str | None]) -> str:
    if thing not in left:
        return ""
    until = left[thing]
    return f"; left there until {until}" if until else "; left there"


def _shown(thing: Thing, prop: str, value: Value) -> str:
    if prop in thing.texts and thing.values.get(prop) == value and prop not in thing.totals:
        return thing.texts[prop]
    return value_text(value, thing.kind.properties.get(prop), thing)


def _list(title: str, entries: list[str]) -> list[str]:
    lines = ["", *heading(title)]
    for text in entries:
        lines += wrap(text, "  ", "      ")
    return lines if entries else [*lines, "  nothing"]
