"""The pack list: what goes out in an excursion, on whom and in what, and what comes back in."""

from __future__ import annotations

from typing import Any, NamedTuple

from jackstay.model.records import Holding, Thing, World
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.situation import bearer, describe, holdings, is_inside, states
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import label, source_place, step_text


class Passage(NamedTuple):
    """An item on its way out or in. held: its attachments just after. at: where the step is written."""

    item: Thing
    carrier: Thing | None
    held: tuple[Holding, ...]
    text: str
    at: str


def passages(world: World, view: View) -> tuple[list[Passage], list[Passage]]:
    """(out, back): each item's first way out of what was inside at the start, and the last way in of what ends inside
    after having been outside. In the order of passing."""
    flow = view.flow
    items = [thing for thing in world.things if thing.sort == "item"]
    inside: dict[Thing, bool | None] = {item: is_inside(flow.start, item) for item in items}
    packed = {item for item in items if inside[item]}
    out: dict[Thing, Passage] = {}
    back: dict[Thing, Passage] = {}
    for step, state in states(flow):
        if not any(world.variables[change.var].sort != "property" for change in step.changes):
            continue
        for item in items:
            now = is_inside(state, item)
            if now == inside[item]:
                continue
            inside[item] = now
            if now is None:
                continue
            passage = Passage(
                item, bearer(state, item), holdings(state, item), step_text(step), source_place(step.entry.at)
            )
            if now:
                back[item] = passage
            elif item in packed:
                out.setdefault(item, passage)
    return list(out.values()), [passage for item, passage in back.items() if inside[item]]


def pack(world: World, views: list[View], frame: Frame) -> str:
    """pack.txt"""
    lines = frame.head("Pack list: what goes out, what comes in")
    lines += wrap(
        "What is inside when an excursion starts and is taken out in it, on whom it leaves and in what; then what "
        "comes in. Both are read off the steps, not off a list of their own."
    )
    for view in views:
        lines += ["", "", *excursion_head(view, len(views))]
        if view.times is None:
            lines.append(NOT_WORKED_OUT)
            continue
        out, back = passages(world, view)
        lines += _going_out(view, out, {passage.item for passage in back})
        lines += ["", *heading("Comes in")]
        state = view.flow.end
        for passage in back:
            who = f"with {label(passage.carrier)}" if passage.carrier is not None else "on nobody"
            again = "" if is_inside(view.flow.start, passage.item) else "was outside before; "
            lines += wrap(f"{label(passage.item)} - {again}{who}; then {describe(state, passage.item)}", "  [ ] ")
        if not back:
            lines.append("  nothing")
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _going_out(view: View, out: list[Passage], back: set[Thing]) -> list[str]:
    if not out:
        return ["", *heading("Goes out"), "  nothing"]
    leaving = {passage.item: passage for passage in out}
    carriers: dict[Thing | None, list[Passage]] = {}
    for passage in out:
        carriers.setdefault(passage.carrier, []).append(passage)
    crew = [member.actor for member in view.excursion.crew]
    order = sorted(carriers, key=lambda actor: crew.index(actor) if actor in crew else len(crew))
    lines: list[str] = []
    for carrier in order:
        lines += ["", *heading(f"Goes out on {label(carrier)}" if carrier is not None else "Goes out on nobody")]
        for passage in carriers[carrier]:
            if not any(held.holder in leaving for held in passage.held):
                lines += _with_content(view, passage, leaving, back, 0)
    return lines


def _with_content(
    view: View, passage: Passage, leaving: dict[Thing, Passage], back: set[Thing], depth: int
) -> list[str]:
    how = ", ".join(f"by {held.manner}" for held in passage.held if held.manner and depth == 0)
    how = how if passage.held else "by an end of it"
    fate = "comes back in" if passage.item in back else f"stays out: {_fate(view, passage.item)}"
    lines = wrap(f"{label(passage.item)}{f' ({how})' if how else ''} - {fate}", f"  {'    ' * depth}[ ] ")
    for other in leaving.values():
        if any(held.holder is passage.item for held in other.held):
            lines += _with_content(view, other, leaving, back, depth + 1)
    return lines


def _fate(view: View, item: Thing) -> str:
    end: list[Any] = view.flow.end
    told = next((left for left in view.excursion.left_outside if left.thing is item), None)
    until = f" (until {told.until})" if told is not None and told.until else ""
    return describe(end, item) + until
