"""plan.json: the checked plan as data, for other programs.

Its shape is `data_shape`. The schema that is published of it lies beside it, ``plan.schema.json``."""

from __future__ import annotations

import json
from collections.abc import Hashable
from dataclasses import fields, is_dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from jackstay.model.records import Excursion, Mark, Thing, World
from jackstay.outputs import data_shape as shape
from jackstay.outputs.clock import bare
from jackstay.outputs.data_steps import call_of, fallbacks_of, name_of, steps_of, tasks_of, value_of
from jackstay.outputs.ending import not_normal
from jackstay.outputs.frame import Frame
from jackstay.outputs.home_account import home_account
from jackstay.outputs.luck import pairs_of
from jackstay.outputs.situation import holdings, is_inside, line_ends, place
from jackstay.outputs.supplies import supply_data
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place
from jackstay.timing.formulas import location_in
from jackstay.timing.home import Tally
from jackstay.timing.home_records import Number
from jackstay.timing.records import Times

SCHEMA = "jackstay.plan/1"


def plan_json(world: World, views: list[View], frame: Frame) -> str:
    """The document as text, ending in a line break."""
    return json.dumps(_plain(document(world, views, frame)), indent=1, ensure_ascii=False) + "\n"


def document(world: World, views: list[View], frame: Frame) -> shape.Plan:
    return shape.Plan(
        schema="jackstay.plan/1",
        campaign=world.name,
        title=world.title,
        identity=frame.identity,
        unchecked=frame.unchecked,
        warning=frame.warning or None,
        findings=frame.counts,
        safety=tuple(frame.safety),
        things=tuple(_thing(thing) for thing in world.things),
        excursions=tuple(_excursion(world, view) for view in views),
    )


@cache
def _names(record: Hashable) -> tuple[tuple[str, str], ...]:
    """Of each field: its name here, and as it is written."""
    return tuple((one.name, one.name.removesuffix("_")) for one in fields(record))  # type: ignore[arg-type]


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, str | int):
        return value
    if isinstance(value, tuple):
        return [_plain(part) for part in value]
    if is_dataclass(value) and not isinstance(value, type):
        return {written: _plain(getattr(value, name)) for name, written in _names(type(value))}
    return value


def _thing(thing: Thing) -> shape.Thing:
    return shape.Thing(thing.name, thing.title, thing.sort, thing.kind.name, source_place(thing.decl))


def _excursion(world: World, view: View) -> shape.Excursion:
    excursion, times = view.excursion, view.times
    begins, light, slow = excursion.begins, excursion.light, excursion.slow_day
    return shape.Excursion(
        name=excursion.name,
        title=excursion.title,
        source=source_place(excursion.decl),
        number=view.number,
        starts=excursion.starts,
        previous=excursion.previous.name if excursion.previous is not None else None,
        begins=shape.Begins(begins.date, bare(begins.time)) if begins is not None else None,
        clock=excursion.clock,
        clock_runs=_clock(excursion, times) if times is not None else None,
        limit=bare(excursion.limit.value) if excursion.limit is not None else None,
        reserve=bare(excursion.reserve.value) if excursion.reserve is not None else None,
        light=shape.Light(bare(light.dark.value), bare(light.every.value), bare(light.first.value)) if light else None,
        slow_day=shape.SlowDay(bare(slow.run), bare(slow.each)) if slow is not None else None,
        together=bare(excursion.together.within.value) if excursion.together is not None else None,
        crew=tuple(shape.Member(member.actor.name, member.role) for member in excursion.crew),
        worked_out=times is not None,
        makespan=None if times is None or times.makespan_open else bare(times.makespan),
        makespan_at_least=bare(times.makespan) if times is not None else None,
        critical=times.critical if times is not None else (),
        actors=_actors(times) if times is not None else (),
        tasks=tasks_of(view),
        steps=steps_of(view),
        delays=_delays(times) if times is not None else (),
        supplies=tuple(_supply(one) for one in supply_data(world, view.flow, times)),
        way_home=_way_home(view, times) if times is not None else (),
        luck=tuple(
            shape.Pair(
                pair.first.index,
                pair.second.index,
                tuple(thing.name for thing in pair.share),
                bare(pair.apart) if pair.apart is not None else None,
                pair.race,
            )
            for pair in pairs_of(world, view)
        ),
        fallbacks=fallbacks_of(view),
        end=_end(world, view.flow.end, excursion) if times is not None else None,
    )


def _clock(excursion: Excursion, times: Times) -> shape.Clock:
    def call(mark: Mark | None) -> str | None:
        return call_of(mark) if mark is not None else None

    starts, ends = call(excursion.clock_starts), call(excursion.clock_ends)
    return shape.Clock(starts, ends, bare(times.clock_zero), bare(times.clock_end))


def _actors(times: Times) -> tuple[shape.ActorEnd, ...]:
    return tuple(
        shape.ActorEnd(actor.name, bare(end), times.actor_open[actor]) for actor, end in times.actor_end.items()
    )


def _delays(times: Times) -> tuple[shape.Delay, ...]:
    return tuple(
        shape.Delay(
            one.actor.name,
            one.step,
            bare(one.since),
            bare(one.until),
            one.cause,
            call_of(one.mark) if one.mark is not None else None,
            one.why,
        )
        for one in times.delays
    )


def _supply(data: dict[str, Any]) -> shape.Supply:
    named = {f"{key}_" if key == "from" else key: value for key, value in data.items()}
    return shape.Supply(**{**named, "bends": tuple((since, left) for since, left in data["bends"])})


def _way_home(view: View, times: Times) -> tuple[shape.WayHome, ...]:
    account, _ = home_account(view, times)
    return tuple(_home(tally) for tally in account.tallies.values())


def _home(tally: Tally) -> shape.WayHome:
    def exact(value: Number | None) -> shape.Number | None:
        return bare(Fraction(value)) if value is not None else None

    def stretch(found: tuple[Number, Number, Any] | None) -> tuple[shape.Number, shape.Number] | None:
        return (bare(Fraction(found[0])), bare(Fraction(found[1]))) if found is not None else None

    tightest = tally.tightest
    margin = None
    if tightest is not None:
        figures = (tightest.t, tightest.need, tightest.left, tightest.margin)
        at, needed, left, rest = (bare(Fraction(one)) for one in figures)
        margin = shape.Margin(at, needed, left, rest, tightest.by.name if tightest.by is not None else None)
    return shape.WayHome(
        actor=tally.actor.name,
        out_from=exact(tally.first_out),
        out_until=exact(tally.last_out),
        longest=bare(Fraction(tally.longest)),
        turn_back=exact(tally.turn_back) if tally.last_out is not None else None,
        least_margin=margin,
        no_way=stretch(tally.stuck),
        not_known=stretch(tally.unknown),
    )


def _end(world: World, state: list[Any], excursion: Excursion) -> shape.End:
    left = {one.thing: one.until for one in excursion.left_outside}
    things = []
    for thing in world.things:
        if thing.sort == "location":
            continue
        first, second = line_ends(state, thing)
        things.append(
            shape.EndThing(
                name=thing.name,
                place=name_of(place(state, thing)) if thing.sort == "actor" else None,
                on=tuple(shape.Attachment(one.manner, one.holder.name) for one in holdings(state, thing)),
                from_=name_of(first),
                to=name_of(second),
                location=name_of(location_in(state, thing)),
                inside=is_inside(state, thing),
                left_outside=thing in left,
                until=left.get(thing),
            )
        )
    return shape.End(
        things=tuple(things),
        properties=tuple(
            shape.EndProperty(var.thing.name, var.prop, value_of(state[var.id]))
            for var in world.variables
            if var.sort == "property"
        ),
        not_normal=tuple(
            shape.Odd(odd.thing.name, odd.prop, value_of(odd.value), value_of(odd.normal))
            for odd in not_normal(world, state)
        ),
    )
