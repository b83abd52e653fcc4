"""The configuration at the end of each excursion: what is outside and how it hangs there, what is not as it
normally is, what has moved."""

from __future__ import annotations

from typing import Any, NamedTuple

from jackstay.model.records import Thing, Value, World
from jackstay.outputs.frame import Frame
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.situation import describe, is_inside, line_ends
from jackstay.outputs.timeline import excursion_head
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import label, value_text
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
    lines = frame.head("Configuration at the end of each excursion")
    for view in views:
        lines += ["", *excursion_head(view, len(views))]
        lines += [NOT_WORKED_OUT] if view.times is None else _excursion(world, view)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _excursion(world: World, view: View) -> list[str]:
    start, end = view.flow.start, view.flow.end
    left = {one.thing: one.until for one in view.excursion.left_outside}
    outside = [thing for thing in world.things if thing.sort == "item" and is_inside(end, thing) is False]
    lines = _list(
        "Items outside",
        [f"{label(thing)} - {describe(end, thing)}{_left(thing, left)}" for thing in outside if not thing.kind.ends],
    )
    lines += _list(
        "Line ends",
        [
            f"{label(thing)} - {describe(end, thing)}{_left(thing, left)}"
            for thing in world.things
            if thing.kind.ends and line_ends(end, thing) != (None, None)
        ],
    )
    lost = [thing for thing in world.things if thing.sort == "item" and is_inside(end, thing) is None]
    if lost:
        lines += _list(
            "Hang on nothing that has a place", [f"{label(thing)} - {describe(end, thing)}" for thing in lost]
        )
    lines += _list(
        "Not as it normally is",
        [
            f"{odd.prop} of {label(odd.thing)} is {_shown(odd.thing, odd.prop, odd.value)}, normally "
            f"{_shown(odd.thing, odd.prop, odd.normal)}"
            for odd in not_normal(world, end)
        ],
    )
    lines += _list(
        "Crew and machines",
        [f"{label(actor)} - {describe(end, actor)}" for actor in world.things if actor.sort == "actor"],
    )
    lines += _list(
        "Moved since the start",
        [
            f"{label(thing)}: {describe(start, thing)} -> {describe(end, thing)}"
            for thing in moved(world, view)
            if thing.sort == "item"
        ],
    )
    lines += _list(
        "Set since the start",
        [
            f"{var.prop} of {label(var.thing)}: {_shown(var.thing, var.prop, start[var.id])} -> "
            f"{_shown(var.thing, var.prop, end[var.id])}"
            for var in world.variables
            if var.sort == "property" and start[var.id] != end[var.id]
        ],
    )
    return lines


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
