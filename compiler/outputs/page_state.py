"""Where things are, for the review page: places and ways, what hangs where at first, custody chains, the end."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from jackstay.model.records import Excursion, Thing, World
from jackstay.outputs.custody import Stay, chains, groups
from jackstay.outputs.custody_rows import holder_words, place_words
from jackstay.outputs.ending import Odd, moved, not_normal, otherwise
from jackstay.outputs.frames import moving_things, scenes_of, station
from jackstay.outputs.layout import on_grid
from jackstay.outputs.look import ActorStyle
from jackstay.outputs.page_steps import hang
from jackstay.outputs.page_words import Files, Words, plain, says
from jackstay.outputs.situation import at_home, describe, is_inside, line_ends
from jackstay.outputs.views import View
from jackstay.outputs.wording import label, source_place, value_text
from jackstay.outputs.words import said
from jackstay.timing.formulas import location_in


def things_data(world: World, styles: dict[Thing, ActorStyle], files: Files) -> list[dict[str, Any]]:
    found = []
    for thing in world.things:
        data: dict[str, Any] = {"n": thing.name, "t": thing.title, "s": thing.sort, "k": thing.kind.title}
        data["a"] = files(thing.decl)
        if thing.near:
            data["near"] = [one.index for one in thing.near]
        if thing.sort == "location" and at_home(thing):
            data["in"] = 1
        if thing.runner is not None:
            data["run"] = thing.runner.index
        if (style := styles.get(thing)) is not None:
            data["style"] = [style.letter, style.hue, style.shape, style.dash, style.rings]
        found.append(data)
    return found


def places_data(world: World, views: list[View]) -> dict[str, Any]:
    """cells: [place, column, row]; ways: [place, place, length in words]. Places on a path, and where anybody or
    anything that moves is."""
    used = {end for path in world.paths for end in (path.a, path.b)}
    for view in views:
        used |= set(_visited(view))
    places = [thing for thing in world.things if thing in used and thing.sort == "location" and not thing.near]
    cells = on_grid(places, world.paths)
    ways = [[path.a.index, path.b.index, path.length.text] for path in world.paths]
    return {"cells": [[place.index, *cells[place]] for place in places if place in cells], "ways": ways}


def _visited(view: View) -> Iterable[Thing]:
    moving = moving_things(view.world, view)
    for state in (view.flow.start, view.flow.end):
        for thing in [*view.own, *moving]:
            place = station(location_in(state, thing), None) if state else None
            if place is not None:
                yield place
    for step in view.flow.steps:
        place = station(step.entry.block.place, None)
        if place is not None:
            yield place


def start_data(world: World, view: View) -> list[list[Any]]:
    """[thing, how it hangs] as the excursion begins."""
    return [[thing.index, hang(view.flow.start, thing)] for thing in world.things if thing.sort != "location"]


def phases_data(world: World, view: View) -> list[list[Any]]:
    """[since, until, titles of the tasks] of each phase: from one arrival to the next."""
    return [
        [plain(scene.since), plain(scene.until), [task.title for task in scene.tasks]]
        for scene in scenes_of(world, view)
    ]


def custody_data(world: World, views: list[View], words: Words) -> dict[str, Any]:
    """groups: title and things. chains: thing -> by excursion, stays as [step or -1, on whom or what, where, the step
    back or -1, who has it, 1 where it hangs as the excursion before has left it]."""
    found = chains(world, views)
    shown = groups(found)
    things = [thing for group in shown for thing in group.things]
    return {
        "groups": [[group.title, [thing.index for thing in group.things]] for group in shown],
        "chains": {
            str(thing.index): [[_stay(stay, words) for stay in section] for section in found[thing]] for thing in things
        },
    }


def _stay(stay: Stay, words: Words) -> list[Any]:
    return [
        stay.step.index if stay.step is not None else -1,
        words(holder_words(stay)),
        words(place_words(stay)),
        stay.back.index if stay.back is not None else -1,
        [who.index for who in stay.who],
        1 if stay.kept else 0,
    ]


def end_data(world: World, view: View, files: Files) -> list[list[Any]]:
    """[heading, rows]; a row is [words, the thing or -1, 1 where it is not as normal and not said to be left so]."""
    start, end, excursion = view.flow.start, view.flow.end, view.excursion
    left = {one.thing: one.until for one in excursion.left_outside}
    items = [thing for thing in world.things if thing.sort == "item"]

    def where(thing: Thing) -> list[Any]:
        words = f"{label(thing)}: {describe(end, thing)}"
        if thing in left:
            words += f"; left there until {left[thing]}" if left[thing] else "; left there"
        return [words, thing.index, 0]

    outside = [where(x) for x in items if not x.kind.ends and is_inside(end, x) is False]
    lost = [where(x) for x in items if is_inside(end, x) is None and line_ends(end, x) == (None, None)]
    lines = [where(x) for x in items if x.kind.ends and line_ends(end, x) != (None, None)]
    told = [
        ["Not as it normally is", [_odd(odd, excursion) for odd in not_normal(world, end)]],
        ["Crew and machines", [where(x) for x in world.things if x.sort == "actor"]],
        [said(world).put("Items outside"), outside],
        ["Line ends", lines],
        [
            "Moved since the start",
            [
                [f"{label(x)}: {describe(start, x)} → {describe(end, x)}", x.index, 0]
                for x in moved(world, view)
                if x.sort == "item"
            ],
        ],
        ["Set since the start", _set(world, start, end)],
        ["Hang on nothing that has a place", lost],
        ["Otherwise without a task that may be dropped", _otherwise(world, view)],
    ]
    return [section for section in told if section[1] or section[0] not in _ONLY_IF_ANY]


_ONLY_IF_ANY = ("Hang on nothing that has a place", "Otherwise without a task that may be dropped")


def _odd(odd: Odd, excursion: Excursion) -> list[Any]:
    prop = odd.thing.kind.properties.get(odd.prop)
    value, normal = (value_text(one, prop, odd.thing) for one in (odd.value, odd.normal))
    words = f"{odd.prop} of {label(odd.thing)} is {value}, normally {normal}"
    for one in excursion.left_so:
        if one.test.a is odd.thing and one.test.prop == odd.prop:
            until = f" until {one.until}" if one.until else ""
            return [f"{words}; left so{until} ({source_place(one.at)})", odd.thing.index, 0]
    return [words, odd.thing.index, 1]


def _set(world: World, start: list[Any], end: list[Any]) -> list[list[Any]]:
    found = []
    for var in world.variables:
        before, after = start[var.id], end[var.id]
        if var.sort == "property" and before != after:
            old = says(var, before).partition(": ")[2]
            found.append([f"{says(var, after)} (before: {old})", var.thing.index, 0])
    return found


def _otherwise(world: World, view: View) -> list[list[Any]]:
    end = view.flow.end
    return [
        [f"without {other.name}: {says(var, other.state[var.id])}", var.thing.index, 0]
        for other in otherwise(view)
        for var in world.variables
        if other.state[var.id] != end[var.id]
    ]
