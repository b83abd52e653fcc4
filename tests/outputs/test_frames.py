"""Place frames: phases, places on their grid, and strips that can be read."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from itertools import pairwise
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given
from hypothesis import strategies as st
from outputs.geometry import NS, Area, check, struck
from outputs.plans import OTHERS, PLANS, frame, plan, views
from outputs.small_plan import crane, pier

from jackstay.outputs.frame import frame_of
from jackstay.outputs.frames import MOST, SHORT, Scene, _merged, scenes_of, station
from jackstay.outputs.frames_strip import frames
from jackstay.outputs.layout import Layout, arrange, on_grid
from jackstay.outputs.situation import holdings, states
from jackstay.outputs.views import views_of
from jackstay.timing.formulas import location_in


@cache
def scenes(name: str) -> tuple[list[Scene], ...]:
    return tuple(scenes_of(plan(name).world, view) for view in views(name))


@cache
def strips(name: str) -> dict[str, str]:
    return frames(plan(name).world, list(views(name)), frame(name))


def layout(name: str) -> Layout:
    world = plan(name).world
    cells = on_grid([thing for thing in world.things if thing.sort == "location" and not thing.near], world.paths)
    return arrange(cells, 90, dict.fromkeys(cells, 50.0))


@pytest.mark.parametrize("name", PLANS)
def test_phases_follow_one_another_over_the_whole_excursion(name: str) -> None:
    for view, found in zip(views(name), scenes(name), strict=True):
        assert view.times is not None
        assert 1 < len(found) <= MOST
        assert found[0].since == 0 and found[-1].until == view.times.makespan
        assert all(a.until == b.since and a.since < a.until for a, b in pairwise(found))


@pytest.mark.parametrize("name", PLANS)
def test_every_step_belongs_to_one_phase(name: str) -> None:
    for view, found in zip(views(name), scenes(name), strict=True):
        told = [step.index for scene in found for step in scene.steps]
        assert sorted(told) == list(range(len(view.flow.steps)))
        assert sum(len(scene.calls) for scene in found) == len(view.calls)


@pytest.mark.parametrize("name", PLANS)
def test_the_last_scene_is_the_end_of_the_excursion(name: str) -> None:
    for view, found in zip(views(name), scenes(name), strict=True):
        last = found[-1]
        for thing, at in last.at.items():
            assert at is location_in(view.flow.end, thing)
        for item, hangs in last.hangs.items():
            assert hangs[0] == holdings(view.flow.end, item)


@pytest.mark.parametrize("name", PLANS)
def test_every_move_of_an_actor_is_an_arrow_of_one_scene(name: str) -> None:
    """Counted against the replay: steps after which an actor that they move is at another place."""
    world = plan(name).world
    for view, found in zip(views(name), scenes(name), strict=True):
        wanted = set()
        before = list(view.flow.start)
        for step, state in states(view.flow):
            for change in step.changes:
                var = world.variables[change.var]
                if var.sort == "place":
                    old = station(location_in(before, var.thing), None)
                    new = station(location_in(state, var.thing), old)
                    if old is not new and old is not None and new is not None:
                        wanted.add((var.thing, step.index))
            before = list(state)
        told = [(move.actor, step.index) for scene in found for move in scene.moves for step in move.steps]
        assert len(told) == len(set(told))
        assert set(told) == wanted


def test_the_arm_s_place_and_rider_are_told() -> None:
    ridden = [move for found in scenes("demo") for scene in found for move in scene.moves if move.riders]
    assert {(move.actor.name, move.riders[0].name) for move in ridden} == {("heron", "teal")}
    titles = [
        group.findtext(f"{NS}title")
        for svg in strips("demo").values()
        for group in check(svg).groups("thing")
        if group.get("data-thing") == "teal"
    ]
    assert "Teal, on Arm perch" in titles


@pytest.mark.parametrize("name", PLANS)
def test_no_two_places_share_a_cell_and_boxes_stay_apart(name: str) -> None:
    made = layout(name)
    assert len(set(made.cells.values())) == len(made.cells)
    areas = [Area(box.x, box.y, box.right, box.bottom) for box in made.boxes.values()]
    for at, one in enumerate(areas):
        assert Area(0, 0, made.width, made.height).holds(one)
        assert not any(one.meets(other) for other in areas[at + 1 :])


@pytest.mark.parametrize("name", PLANS)
def test_ways_run_outside_all_places(name: str) -> None:
    made = layout(name)
    inner = {
        place: Area(box.x + 0.5, box.y + 0.5, box.right - 0.5, box.bottom - 0.5) for place, box in made.boxes.items()
    }
    places = list(made.boxes)[:12]
    for a in places:
        for b in places:
            for lane in range(5):
                if a is b:
                    continue
                points = made.way(a, b, lane)
                for (x1, y1), (x2, y2) in pairwise(points):
                    piece = Area(min(x1, x2), min(y1, y2), max(x1, x2) + 0.1, max(y1, y2) + 0.1)
                    assert not [place for place, area in inner.items() if area.meets(piece, 0.2)]
                    assert min(x1, x2, y1, y2) >= 0 and max(x1, x2) <= made.width and max(y1, y2) <= made.height


def test_neighbours_on_a_path_stand_beside_one_another() -> None:
    world = plan("demo").world
    made = layout("demo")
    for path in world.paths:
        (c1, r1), (c2, r2) = made.cells[path.a], made.cells[path.b]
        assert abs(c1 - c2) + abs(r1 - r2) == 1, (path.a, path.b)


@pytest.mark.parametrize("name", PLANS)
def test_every_strip_can_be_read(name: str) -> None:
    shown = 0
    for svg in strips(name).values():
        drawing = check(svg)
        assert struck(drawing, "frame") == [] and struck(drawing, "move") == []
        words = " ".join(one.text for one in drawing.words)
        assert "not certified" in words and frame(name).identity in words
        assert drawing.groups("legend")
        shown += len(drawing.groups("frame"))
    assert shown == sum(map(len, scenes(name)))


@pytest.mark.parametrize("name", PLANS)
def test_no_way_runs_into_what_stands_below_the_places(name: str) -> None:
    for svg in strips(name).values():
        drawing = check(svg)
        heads = [one.area for one in drawing.words if one.text in ("Moves", "Calls")]
        ways = [area for cls, area in drawing.lines if cls == "move"]
        assert heads
        for head in heads:
            row = Area(0, head.top - 2, drawing.page.right, head.bottom)
            assert not [way for way in ways if way.bottom > row.top and way.top < row.bottom]


@pytest.mark.parametrize("name", ["demo", *OTHERS])
def test_every_path_shows_its_length(name: str) -> None:
    """Beside the places, not behind one of them."""
    for svg in strips(name).values():
        drawing = check(svg)
        lengths = [one for one in drawing.words if one.text.endswith(" m")]
        assert len(lengths) == len(plan(name).world.paths) * len(drawing.groups("frame"))
        places = [read_area(group) for group in drawing.groups("place")]
        assert places
        assert not [one.text for one in lengths for place in places if one.area.meets(place)]


def read_area(group: Element) -> Area:
    """Of a group's first rectangle."""
    rect = next(group.iter(f"{NS}rect"))
    left, top, wide, high = (float(rect.get(key, "nan")) for key in ("x", "y", "width", "height"))
    return Area(left, top, left + wide, top + high)


def test_the_same_plan_gives_the_same_bytes() -> None:
    assert frames(plan("demo").world, list(views("demo")), frame("demo")) == strips("demo")


@pytest.mark.parametrize("make", [pier, crane])
def test_places_without_paths_and_an_unchecked_plan(make: object) -> None:
    assert callable(make)
    small = make()
    made = frames(small.world, views_of(small.flow), frame_of(small, unchecked=True))
    assert made
    for svg in made.values():
        assert any(one.text.startswith("UNCHECKED") for one in check(svg).words)


@given(st.lists(st.integers(0, 300), min_size=1, max_size=70))
def test_phases_are_joined_as_the_rule_says(ends: list[int]) -> None:
    """Against the rule done word by word: look for the shortest, join it, look again."""
    bounds = [Fraction(end) for end in (0, *sorted(ends))]
    joined = list(bounds)
    while len(joined) > 2:
        spans = [b - a for a, b in pairwise(joined)]
        short = spans.index(min(spans))
        if len(spans) <= MOST and spans[short] * SHORT >= bounds[-1]:
            break
        del joined[short + 1 if short + 1 < len(spans) else short]
    assert _merged(bounds, bounds[-1]) == joined
