"""All printed outputs of a checked plan: names and bytes. The same plan gives the same bytes."""

from __future__ import annotations

from typing import Any

from jackstay.model.records import Thing
from jackstay.outputs.calendar import calendar
from jackstay.outputs.checklist import actors_of, checklist
from jackstay.outputs.data import plan_json
from jackstay.outputs.ending import ending
from jackstay.outputs.frame import frame_of
from jackstay.outputs.luck import luck
from jackstay.outputs.order import order
from jackstay.outputs.packing import pack
from jackstay.outputs.paper import wrap
from jackstay.outputs.pictures import pictures
from jackstay.outputs.timeline import timeline
from jackstay.outputs.views import NOT_FOLLOWED, views_of
from jackstay.outputs.wayhome import wayhome


def build(checked: Any, unchecked: bool = False) -> dict[str, bytes]:
    """File name -> content. checked: anything with ``world``, ``flow``, ``diagnostics`` and ``sources``.

    unchecked: every output says loudly that the plan has not passed. Without a layout program the order sheets
    are only texts and ``order-not-drawn.txt`` says why. Where ``flow`` is None nothing was followed, and the one file
    says so."""
    frame = frame_of(checked, unchecked)
    world = checked.world
    if checked.flow is None:
        lines = [*frame.head("Not printed"), *wrap(NOT_FOLLOWED), *frame.foot()]
        return {"not-followed.txt": ("\n".join(lines) + "\n").encode("utf-8")}
    views = views_of(checked.flow)
    made = order(world, views, frame)
    made["timeline.txt"] = timeline(views, frame)
    for actor, name in _names(actors_of(views)):
        made[f"checklist-{name}.txt"] = checklist(views, actor, frame)
    made["pack.txt"] = pack(world, views, frame)
    made["end.txt"] = ending(world, views, frame)
    made["luck.txt"] = luck(world, views, frame)
    made["way-home.txt"] = wayhome(views, frame)
    made.update(pictures(world, views, frame))
    made["plan.json"] = plan_json(world, views, frame)
    dates = calendar(views, frame)
    if dates is not None:
        made["timeline.ics"] = dates
    return {name: text.encode("utf-8") for name, text in sorted(made.items())}


def _names(actors: list[Thing]) -> list[tuple[Thing, str]]:
    """Actors of two modules may share a name: the second then gets a number."""
    taken: dict[str, int] = {}
    found = []
    for actor in actors:
        taken[actor.name] = taken.get(actor.name, 0) + 1
        count = taken[actor.name]
        found.append((actor, actor.name if count == 1 else f"{actor.name}-{count}"))
    return found
