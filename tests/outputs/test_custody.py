"""The way of things through hands and places: every change once, and drawings that can be read."""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import Any

import pytest
from outputs.geometry import NS, check, read, struck
from outputs.plans import PLANS, frame, plan, views
from outputs.small_plan import crane, pier

from jackstay.flow.records import Flow
from jackstay.model.records import Holding, World
from jackstay.outputs.custody import chains, custody_changes
from jackstay.outputs.custody_calls import Column, columns_of, spots_of
from jackstay.outputs.custody_holds import who_holds_what
from jackstay.outputs.custody_list import custody_list
from jackstay.outputs.custody_rows import periods
from jackstay.outputs.custody_sheets import ROWS, custody
from jackstay.outputs.frame import frame_of
from jackstay.outputs.look import step_id
from jackstay.outputs.moment import Moment
from jackstay.outputs.situation import bearers, holdings, states
from jackstay.outputs.views import views_of


@cache
def sheets(name: str) -> dict[str, str]:
    return custody(plan(name).world, list(views(name)), frame(name))


@cache
def holds(name: str) -> dict[str, str]:
    return who_holds_what(plan(name).world, list(views(name)), frame(name))


def flow_of(name: str) -> tuple[World, Flow]:
    checked = plan(name)
    assert checked.flow is not None
    return checked.world, checked.flow


def changes_in_flow(name: str) -> Counter[tuple[str, str]]:
    """(thing, step) of every change of what an item hangs on, or of a line's end, read off the flow itself."""
    world, _ = flow_of(name)
    found: Counter[tuple[str, str]] = Counter()
    for view in views(name):
        for step in view.flow.steps:
            things = set()
            for change in step.changes:
                var = world.variables[change.var]
                if var.thing.sort == "item" and var.sort in ("held", "from", "to") and change.before != change.after:
                    things.add(var.thing.name)
            found.update((thing, step_id(view, step)) for thing in things)
    return found


@pytest.mark.parametrize("name", PLANS)
def test_every_custody_change_stands_exactly_once(name: str) -> None:
    shown: Counter[tuple[str, str]] = Counter()
    for svg in sheets(name).values():
        for tag in read(svg).groups("stay"):
            thing = tag.get("data-thing") or ""
            shown[thing, tag.get("data-step") or ""] += 1
            if tag.get("data-back"):
                shown[thing, tag.get("data-back") or ""] += 1
    assert shown == changes_in_flow(name)
    assert sum(shown.values()) > 20


@pytest.mark.parametrize("name", PLANS)
def test_the_text_counts_the_same_changes(name: str) -> None:
    text = custody_list(plan(name).world, list(views(name)), frame(name))
    per_thing = Counter[str]()
    for (thing, _), count in changes_in_flow(name).items():
        per_thing[thing] += count
    for thing, count in per_thing.items():
        row = next(line.split() for line in text.splitlines() if line.split()[:1] == [thing])
        assert row[1] == str(count)
        assert f'data-thing="{thing}"' in sheets(name)[row[2]]
    assert all(len(line) <= 100 or " " not in line.strip() for line in text.splitlines())


@pytest.mark.parametrize("name", PLANS)
def test_every_sheet_can_be_read(name: str) -> None:
    for svg in (*sheets(name).values(), *holds(name).values()):
        drawing = check(svg)
        assert struck(drawing, "custody") == []
        words = " ".join(one.text for one in drawing.words)
        assert "not certified" in words and frame(name).identity in words
        assert drawing.groups("legend")
    for svg in sheets(name).values():
        assert len(read(svg).groups("custody")) <= ROWS


@pytest.mark.parametrize("name", PLANS)
def test_each_tag_names_its_source_line(name: str) -> None:
    for svg in sheets(name).values():
        for tag in read(svg).groups("stay"):
            place = tag.get("data-place") or "none"
            assert any((text.text or "").endswith(place) for text in tag.iter(f"{NS}text"))
            assert (tag.findtext(f"{NS}title") or "").endswith(place)


@pytest.mark.parametrize("name", ["demo", "long names"])
def test_the_same_plan_gives_the_same_bytes(name: str) -> None:
    world, shown = plan(name).world, list(views(name))
    assert custody(world, shown, frame(name)) == sheets(name)
    assert who_holds_what(world, shown, frame(name)) == holds(name)
    assert list(sheets(name)) == [f"custody-{number}.svg" for number in range(1, len(sheets(name)) + 1)]


def test_an_unchecked_plan_says_so_on_every_sheet() -> None:
    small = pier()
    loud = frame_of(small, unchecked=True)
    made = {
        **custody(small.world, views_of(small.flow), loud),
        **who_holds_what(small.world, views_of(small.flow), loud),
    }
    assert made
    for svg in made.values():
        assert any(one.text.startswith("UNCHECKED") for one in check(svg).words)


def test_a_tool_drawn_for_a_step_and_put_back_is_one_tag() -> None:
    small = pier()
    found = chains(small.world, views_of(small.flow))
    driver = next(thing for thing in found if thing.name == "driver")
    (section,) = found[driver]
    assert [(stay.step is not None, stay.back is not None) for stay in section] == [(False, False), (True, True)]
    kit = next(thing for thing in found if thing.name == "kit")
    (first, second) = periods(section, kit)
    assert first[0] is None and second[1] is None
    assert first[1] is not None and second[0] is not None and first[1] < second[0]


def test_the_chain_of_the_lamp_is_seat_wren_teal() -> None:
    small = pier()
    found = chains(small.world, views_of(small.flow))
    lamp = next(thing for thing in found if thing.name == "lamp")
    (section,) = found[lamp]
    assert [stay.held[0].holder.name for stay in section] == ["lamp-seat", "wren", "teal"]
    assert [place.name for place in section[-1].places] == ["pier-end", "lock"]
    assert [stay.inside for stay in section] == [False, False, True]


def test_what_nobody_moves_has_no_sheet() -> None:
    small = crane()
    shown = views_of(small.flow)
    assert custody(small.world, shown, frame_of(small, False)) == {}
    assert "Nothing changes hands." in custody_list(small.world, shown, frame_of(small, False))


def test_chains_follow_the_state_step_by_step() -> None:
    """After every step each thing hangs on what its stays say: on what the step's own stay says; after one that undoes
    a there-and-back, on what the stay before that says."""
    world, _ = flow_of("demo")
    shown = list(views("demo"))
    found = chains(world, shown)
    compared = 0
    for at, view in enumerate(shown):
        for step, state in states(view.flow):
            for item in custody_changes(world, step):
                stays = found[item][at]
                undone = next((number for number, stay in enumerate(stays) if stay.back is step), None)
                if undone is None:
                    (stay,) = [stay for stay in stays if stay.step is step]
                else:
                    stay = next(stay for stay in reversed(stays[:undone]) if stay.back is None)
                assert stay.held == holdings(state, item)
                compared += 1
    assert compared > 100


def calls(name: str) -> list[tuple[int, Column]]:
    return [(at, column) for at, view in enumerate(views(name)) for column in columns_of(plan(name).world, view)]


def test_a_column_for_each_call_and_none_before_one_it_waits_for() -> None:
    for at, view in enumerate(views("demo")):
        columns = [column for number, column in calls("demo") if number == at]
        assert Counter(column.call for column in columns[1:-1]) == Counter(view.calls.values())
        order = [column.step.index for column in columns[1:-1] if column.step is not None]
        for later, index in enumerate(order):
            seen, queue = {index}, [index]
            for one in queue:
                queue += [p for p in view.flow.predecessors[one] if p not in seen]
                seen.update(view.flow.predecessors[one])
            assert not seen & set(order[later + 1 :])


def test_what_is_sure_at_a_call_agrees_with_the_moment_of_the_next_step() -> None:
    """`Moment` judges the start of a step. The doer's next step starts after the call: what the call finds sure and no
    step may change in between, that moment finds too. And what the replay leaves is always among the answers."""
    world, _ = flow_of("demo")
    compared = 0
    for view in views("demo"):
        columns = {column.step.index: column for column in columns_of(world, view) if column.step is not None}
        for step, state in states(view.flow):
            column = columns.get(step.index)
            if column is None:
                continue
            for item, answers in column.spots.items():
                assert answers is not None
                held = holdings(state, item)
                if held:
                    told = {tuple((spot.on, spot.manner) for spot in answer) for answer in answers}
                    assert tuple((one.holder, one.manner) for one in held) in told
            own = next((one for one in view.flow.steps if step.index in view.flow.predecessors[one.index]), None)
            if own is None:
                continue
            moment = Moment(view.flow, own)
            for item, answers in column.spots.items():
                if item.held_var < 0 or answers is None or len(answers) > 1:
                    continue
                options = {option.value for option in moment.options(item.held_var)}
                if len(options) == 1 and all(
                    change.var != item.held_var or one.index <= step.index
                    for one in view.flow.steps
                    for change in one.changes
                ):
                    compared += 1
                    (value,) = options
                    told_once = tuple((spot.on, spot.manner) for spot in answers[0]) if value else ()
                    assert told_once == tuple((one.holder, one.manner) for one in value or ())
    assert compared > 100


def test_what_the_order_leaves_open_is_shown_as_maybe() -> None:
    """Wren's foot rest and Heron's call have no order: at the call the rest may still be in its socket."""
    world, _ = flow_of("demo")
    view = views("demo")[0]
    rest = next(thing for thing in world.things if thing.name == "rest1")
    column = next(one for one in columns_of(world, view) if one.title == "heron-at-rack")
    answers = column.spots[rest]
    assert answers is not None and len(answers) > 1
    end = columns_of(world, view)[-1].spots[rest]
    assert end is not None and [spot.on.name for spot in end[0]] == ["left-socket"]
    svg = holds("demo")["who-holds-what-1.svg"]
    assert any(one.text.startswith("? ") for one in read(svg).words)


def test_every_call_stands_on_a_sheet_with_its_source_line() -> None:
    for name in ("demo", "generated 60"):
        shown = Counter(
            (group.get("data-step"), group.get("data-place"))
            for svg in holds(name).values()
            for group in read(svg).groups("call")
        )
        wanted = {step_id(view, view.flow.steps[index]) for view in views(name) for index in view.calls}
        assert {step for step, _ in shown} == wanted
        assert all(place for _, place in shown)


def test_a_line_that_somebody_tends_is_shown_with_whoever_is_on_it() -> None:
    class Flat:
        held_var = from_var = to_var = place_var = -1

        def __init__(self, title: str, sort: str, **more: object) -> None:
            self.title, self.sort, self.index, self.near = title, sort, len(title), ()
            self.placed: tuple[Holding, ...] = ()
            self.from_end = self.to_end = self.place = None
            self.__dict__.update(more)

    boat, diver, tender = Flat("Boat", "location"), Flat("Diver", "actor"), Flat("Tender x", "actor")
    line: Any = Flat("Line", "item", from_end=boat, to_end=diver)
    line.placed = (Holding("hand", tender),)  # type: ignore[arg-type]
    spots = spots_of([], line)
    assert [(one.on.title, one.manner, [o.title for o in one.others]) for one in spots] == [
        ("Tender x", "hand", []),
        ("Diver", "", ["Boat"]),
    ]
    assert [one.title for one in bearers([], line)][-1:] == ["Diver"]
