"""plan.json: the checked plan as data, for other programs. The format is versioned by ``schema``."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import Excursion, Thing, World
from jackstay.outputs.clock import bare
from jackstay.outputs.ending import not_normal
from jackstay.outputs.frame import Frame
from jackstay.outputs.luck import Pair, pairs_of
from jackstay.outputs.situation import holdings, is_inside, line_ends, place
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place, step_text
from jackstay.timing.formulas import location_in

SCHEMA = "jackstay.plan/1"


def plan_json(world: World, views: list[View], frame: Frame) -> str:
    """Times are seconds from the excursion's start: a number, or an exact fraction as text. ``start``, ``end`` are null
    where a step without a duration comes before; ``start_at_least`` is then the lower bound."""
    data = {
        "schema": SCHEMA,
        "campaign": world.name,
        "title": world.title,
        "identity": frame.identity,
        "unchecked": frame.unchecked,
        "warning": frame.warning or None,
        "findings": dict(frame.findings),
        "safety": list(frame.safety),
        "things": [_thing(thing) for thing in world.things],
        "excursions": [_excursion(world, view) for view in views],
    }
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def _name(thing: Thing | None) -> str | None:
    return thing.name if thing is not None else None


def _value(value: Any) -> Any:
    if isinstance(value, Thing):
        return value.name
    return bare(value) if isinstance(value, Fraction) else value


def _thing(thing: Thing) -> dict[str, Any]:
    return {
        "name": thing.name,
        "title": thing.title,
        "sort": thing.sort,
        "kind": thing.kind.name,
        "source": source_place(thing.decl),
    }


def _excursion(world: World, view: View) -> dict[str, Any]:
    excursion, times = view.excursion, view.times
    return {
        "name": excursion.name,
        "title": excursion.title,
        "source": source_place(excursion.decl),
        "clock": excursion.clock,
        "limit": bare(excursion.limit.value) if excursion.limit is not None else None,
        "reserve": bare(excursion.reserve.value) if excursion.reserve is not None else None,
        "crew": [{"actor": member.actor.name, "role": member.role} for member in excursion.crew],
        "worked_out": times is not None,
        "makespan": None if times is None or times.makespan_open else bare(times.makespan),
        "tasks": [
            {
                "name": task.name,
                "title": task.title,
                "rank": task.rank,
                "after": [one.name for one in task.after],
                "source": source_place(task.decl),
            }
            for task in excursion.tasks
        ],
        "steps": [_step(view, step) for step in view.flow.steps] if times is not None else [],
        "luck": [_luck(pair) for pair in pairs_of(world, view)],
        "fallbacks": [
            {"name": one.name, "title": one.title, "source": source_place(one.decl)} for one in excursion.fallbacks
        ],
        "end": _end(world, view.flow.end, excursion) if times is not None else None,
    }


def _step(view: View, step: Step) -> dict[str, Any]:
    times = view.times
    assert times is not None
    i, entry = step.index, step.entry
    seconds = times.durations[i]
    before = sorted({*view.flow.predecessors[i]})
    return {
        "identity": f"{view.excursion.name}/{entry.task.name}/{i}",
        "index": i,
        "task": entry.task.name,
        "cast": [actor.name for actor in step.cast],
        "text": step_text(step),
        "place": _name(entry.block.place),
        "seat": _name(entry.block.seat),
        "inserted": step.inserted,
        "route": [one.name for one in step.route],
        "duration": bare(seconds) if seconds is not None else None,
        "start": None if times.start_open[i] else bare(times.start[i]),
        "end": None if times.end_open[i] else bare(times.end[i]),
        "start_at_least": bare(times.start[i]),
        "end_at_least": bare(times.end[i]),
        "after": before,
        "waits": [f"{wait.mark.task.name}.{wait.mark.name}" for wait in view.waits.get(i, ())],
        "beside": [f"{wait.mark.task.name}.{wait.mark.name}" for wait in view.beside.get(i, ())],
        "says": view.calls[i].name if i in view.calls else None,
        "source": source_place(entry.at),
    }


def _luck(pair: Pair) -> dict[str, Any]:
    """Two steps that nothing orders. apart: seconds from the end of the first to the start of the second by the nominal
    times, below nothing where they overlap or come the other way round. race: whether the plan fails by it."""
    return {
        "first": pair.first.index,
        "second": pair.second.index,
        "share": [thing.name for thing in pair.share],
        "apart": bare(pair.apart) if pair.apart is not None else None,
        "race": pair.race,
    }


def _end(world: World, state: list[Any], excursion: Excursion) -> dict[str, Any]:
    left = {one.thing: one.until for one in excursion.left_outside}
    things = []
    for thing in world.things:
        if thing.sort == "location":
            continue
        first, second = line_ends(state, thing)
        things.append(
            {
                "name": thing.name,
                "place": _name(place(state, thing)) if thing.sort == "actor" else None,
                "on": [{"manner": one.manner, "holder": one.holder.name} for one in holdings(state, thing)],
                "from": _name(first),
                "to": _name(second),
                "location": _name(location_in(state, thing)),
                "inside": is_inside(state, thing),
                "left_outside": thing in left,
                "until": left.get(thing),
            }
        )
    return {
        "things": things,
        "properties": [
            {"thing": var.thing.name, "property": var.prop, "value": _value(state[var.id])}
            for var in world.variables
            if var.sort == "property"
        ],
        "not_normal": [
            {"thing": odd.thing.name, "property": odd.prop, "value": _value(odd.value), "normally": _value(odd.normal)}
            for odd in not_normal(world, state)
        ],
    }
