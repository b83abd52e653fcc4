"""What goes out in an excursion, on whom and in what, and what comes back in."""

from __future__ import annotations

from typing import NamedTuple

from jackstay.model.records import Holding, Thing, World
from jackstay.outputs.situation import bearer, holdings, is_inside, states
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place, step_text


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
