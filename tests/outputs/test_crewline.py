"""Crew timelines: every step once in each lane, at its time; what ties lanes together; drawings that can be read."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import pytest
from benchmarks.generate import write_campaign
from outputs.geometry import NS, Drawing, check, read, struck
from outputs.plans import DEMO, PLANS, frame, plan, views
from outputs.small_plan import Builder, Checked, crane, pier

from jackstay.outputs.crewline import crew_timelines
from jackstay.outputs.crewline_axis import Axis
from jackstay.outputs.crewline_clock import ends_of
from jackstay.outputs.crewline_key import Key, Numbers, Strip
from jackstay.outputs.frame import frame_of
from jackstay.outputs.look import step_id
from jackstay.outputs.order_graph import handed_over
from jackstay.outputs.views import View, is_idle, is_written, views_of
from jackstay.pipeline import check as check_plan

SPREAD = re.compile(r"every step quick: (\d+):(\d\d)\+?, every step slow: (\d+):(\d\d)")


@cache
def sheets(name: str) -> dict[str, str]:
    return crew_timelines(plan(name).world, list(views(name)), frame(name))


def small(checked: Checked) -> dict[str, str]:
    return crew_timelines(checked.world, views_of(checked.flow), frame_of(checked, unchecked=False))


def excursion_sheets(made: dict[str, str], view: View) -> list[Drawing]:
    """Of one excursion, in order."""
    base = f"timeline-{view.excursion.name}"
    names = [name for name in made if re.fullmatch(rf"{re.escape(base)}(-\d+)?\.svg", name)]
    return [read(made[name]) for name in names]


def struck_in_the_open(drawing: Drawing) -> list[str]:
    """Words that a tie runs through, but for those of bars: these are drawn over the ties."""
    order = [one.get("class", "").split()[0] for one in drawing.root.iter(f"{NS}g") if one.get("class")]
    lanes = [at for at, cls in enumerate(order) if cls == "lane"]
    assert not lanes or all(at < lanes[0] for at, cls in enumerate(order) if cls == "tie")
    return struck(replace(drawing, words=[one for one in drawing.words if one.box is None]), "tie")


def shown_steps(drawings: list[Drawing]) -> Counter[tuple[str, str]]:
    return Counter(
        (group.get("data-actor") or "", group.get("data-step") or "")
        for drawing in drawings
        for group in drawing.groups("step")
    )


def steps_of(view: View, every: bool) -> Counter[tuple[str, str]]:
    """(actor, step) of each written step, or of each that is done at all."""
    return Counter(
        (actor.name, step_id(view, step))
        for actor, steps in view.own.items()
        for step in steps
        if (not is_idle(step) if every else is_written(step))
    )


@pytest.mark.parametrize("name", PLANS)
def test_every_step_of_every_actor_stands_exactly_once(name: str) -> None:
    for view in views(name):
        shown = shown_steps(excursion_sheets(sheets(name), view))
        assert shown == steps_of(view, every=True)
        assert len(steps_of(view, every=False)) > 30


@pytest.mark.parametrize("name", PLANS)
def test_every_written_step_has_its_words_or_a_number_that_the_key_explains(name: str) -> None:
    told = 0
    for view in views(name):
        for drawing in excursion_sheets(sheets(name), view):
            keyed = {
                (group.get("data-step"), _texts(group)[0])
                for group in drawing.groups("keyed")
                if group.get("data-step")
            }
            below = {(group.get("data-step"), _texts(group)[0]) for group in drawing.groups("numbered")}
            for group in (*drawing.groups("step"), *drawing.groups("goes-on")):
                if "inserted" in (group.get("class") or "").split():
                    continue
                step = view.flow.steps[int((group.get("data-step") or "").rsplit("/", 1)[1])]
                words = _texts(group)
                if words and not words[0].isdigit():
                    title = "".join(" ".join(words).split())
                    whole = "".join((group.get("aria-label") or "").split())
                    assert title in whole and "…" not in title
                    told += 1
                else:
                    marks = {(group.get("data-step"), words[0])} if words else below
                    assert any(one[0] == step_id(view, step) for one in marks & keyed), step_id(view, step)
                    told += 1
    assert told > 30


@pytest.mark.parametrize("name", [*PLANS])
def test_the_sheets_can_be_read(name: str) -> None:
    for svg in sheets(name).values():
        drawing = check(svg)
        assert struck_in_the_open(drawing) == []


@pytest.mark.parametrize("make", [pier, crane])
def test_small_plans_can_be_read(make) -> None:  # type: ignore[no-untyped-def]
    checked = make()
    made = small(checked)
    for svg in made.values():
        check(svg)
    for view in views_of(checked.flow):
        assert shown_steps(excursion_sheets(made, view)) == steps_of(view, every=True)


def test_the_same_bytes_twice() -> None:
    again = check_plan(DEMO / "campaign.stay")
    assert again.flow is not None
    made = crew_timelines(again.world, views_of(again.flow), frame_of(again, unchecked=again.failed))
    assert made == sheets("demo")


def test_bars_begin_and_end_at_their_times() -> None:
    """Read back from the sheet: positions are linear in time, on every sheet with the same scale."""
    view = views("demo")[0]
    assert view.times is not None
    drawings = excursion_sheets(sheets("demo"), view)
    scales = []
    for drawing in drawings:
        whole = []
        for group in drawing.groups("step"):
            step = view.flow.steps[int((group.get("data-step") or "").rsplit("/", 1)[1])]
            left, right = _extent(group)
            seconds = float(view.times.end[step.index] - view.times.start[step.index])
            if right < 1150:  # it may go on on the next sheet
                whole.append((left, right, float(view.times.start[step.index]), seconds))
        longest = max(whole, key=lambda one: one[3])
        scale = (longest[1] - longest[0]) / longest[3]
        scales.append(scale)
        origin = whole[0][0] - whole[0][2] * scale
        assert len(whole) > 20
        for left, right, start, seconds in whole:
            assert left == pytest.approx(origin + start * scale, abs=0.2)
            assert right - left == pytest.approx(seconds * scale, abs=0.2)
    assert max(scales) == pytest.approx(min(scales), rel=0.01)


@pytest.mark.parametrize("name", ["demo", "long names"])
def test_hand_overs_and_joint_steps_tie_the_right_lanes_at_the_right_moment(name: str) -> None:
    world = plan(name).world
    seen: Counter[str] = Counter()
    for view in views(name):
        ties: dict[tuple[str, str], set[frozenset[str]]] = {}
        for drawing in excursion_sheets(sheets(name), view):
            lanes = _lane_lines(drawing)
            for group in drawing.groups("tie"):
                sort = (group.get("class") or "").split()[1]
                step, ends = group.get("data-step") or "", (group.get("data-from") or "", group.get("data-to") or "")
                ties.setdefault((sort, step), set()).add(frozenset(ends))
                if sort not in ("handover", "joint", "meeting", "runs"):
                    continue
                bars = {
                    one.get("data-actor"): _extent(one)
                    for cls in ("step", "goes-on")
                    for one in drawing.groups(cls)
                    if one.get("data-step") == step
                }
                x, top, low = _upright(group)
                for actor in ends:
                    assert bars[actor][0] - 0.3 <= x <= bars[actor][1] + 0.3
                upper, lower = sorted(ends, key=lambda actor: lanes[actor])
                assert lanes[upper] - 1 <= top <= lanes[upper] + 60
                assert low == pytest.approx(lanes[lower], abs=2)
                if sort == "handover":
                    head = _arrow_tip(group)
                    assert (head > (top + low) / 2) == (ends[1] == lower)
                seen[sort] += 1
        for step in view.flow.steps:
            for thing in handed_over(world, step):
                giver, taker = _giver_and_taker(world, step, thing)
                assert ties["handover", step_id(view, step)] == {frozenset((giver, taker))}
            doers = [actor.name for actor in step.cast if actor in step.entry.block.doers]
            if len(doers) > 1 and not step.inserted and not is_idle(step):
                joined = ties["joint", step_id(view, step)]
                assert set().union(*joined) == set(doers) and len(joined) == len(doers) - 1
    assert seen["handover"] >= 7 and seen["joint"] >= 4 and seen["runs"] > 20


def test_waits_say_who_and_what_is_waited_for() -> None:
    for view in views("demo"):
        assert view.times is not None
        found: dict[tuple[str, str], set[str]] = {}
        for drawing in excursion_sheets(sheets("demo"), view):
            for group in drawing.groups("wait"):
                label = group.get("aria-label") or ""
                found.setdefault((group.get("data-actor") or "", group.get("data-step") or ""), set()).add(label)
        for delay in view.times.delays:
            (label,) = found.pop((delay.actor.name, step_id(view, view.flow.steps[delay.step])))
            if delay.mark is not None:
                assert delay.mark.name.replace("-", " ") in label
        assert not found


def test_every_call_flies_a_flag_on_its_speaker_s_lane() -> None:
    for view in views("demo"):
        drawings = excursion_sheets(sheets("demo"), view)
        shown = Counter((one.get("data-actor"), one.get("data-step")) for d in drawings for one in d.groups("call"))
        wanted = Counter()
        for index, mark in view.calls.items():
            assert mark.entry is not None
            doer = mark.entry.cast[0]
            wanted[(doer.runner or doer).name, step_id(view, view.flow.steps[index])] += 1
        assert shown == wanted


def test_fallbacks_are_marked_where_they_may_be_called() -> None:
    count = 0
    for view in views("demo"):
        drawings = excursion_sheets(sheets("demo"), view)
        shown = {one.get("data-step") for drawing in drawings for one in drawing.groups("card")}
        wanted = {
            step_id(view, next(step for step in reversed(steps) if not step.inserted))
            for steps in view.of_entry.values()
            if any(answer.fallback is not None for answer in steps[0].entry.answers)
        }
        assert shown == wanted
        count += len(wanted)
    assert count >= 3


def test_the_critical_chain_is_marked_by_more_than_colour() -> None:
    for view in views("demo"):
        assert view.times is not None
        chain = {step_id(view, view.flow.steps[i]) for i in view.times.critical if not is_idle(view.flow.steps[i])}
        railed = {
            group.get("data-step")
            for drawing in excursion_sheets(sheets("demo"), view)
            for group in drawing.groups("step")
            if any(float(line.get("stroke-width", "0")) > 2 for line in group.iter(f"{NS}line"))
        }
        assert railed == chain


def test_the_spread_of_the_end_is_that_of_all_quick_and_all_slow() -> None:
    for view in views("demo"):
        assert view.times is not None
        ends = ends_of(view)
        assert ends is not None and ends.least < view.times.makespan < ends.most
        words = " ".join(one.text for one in excursion_sheets(sheets("demo"), view)[0].words)
        found = SPREAD.search(words)
        assert found is not None
        quick, slow = int(found[1]) * 60 + int(found[2]), int(found[3]) * 60 + int(found[4])
        assert quick == -(-ends.least // 60) and slow == -(-ends.most // 60)


def test_night_limit_reserve_supplies_and_the_way_home_are_told() -> None:
    view = views("demo")[0]
    assert view.times is not None and view.excursion.limit is not None
    drawing = excursion_sheets(sheets("demo"), view)[0]
    words = " ".join(one.text for one in drawing.words)
    last = view.times.clock_zero + view.excursion.limit.value
    for expected in (
        "dark 0:41 to 1:26",
        f"limit {last // 3600}:{last % 3600 // 60:02d}",
        "reserve from",
        "suit power",
    ):
        assert expected in words
    for actor in ("wren", "teal"):
        assert [one.get("data-actor") for one in drawing.groups("supplies")].count(actor) == 1
        assert [one.get("data-actor") for one in drawing.groups("way-home")].count(actor) == 1
    assert "tightest at" in words and "oxygen, ends" in words


def test_tasks_stand_above_the_lanes_with_their_rank() -> None:
    for view in views("demo"):
        shown = {one.get("data-task") for d in excursion_sheets(sheets("demo"), view) for one in d.groups("task")}
        assert shown == {step.entry.task.name for step in view.flow.steps if not is_idle(step)}
    words = " ".join(one.text for name in sheets("demo") for one in read(sheets("demo")[name]).words)
    assert "Look (get-ahead)" in words


def test_the_campaign_has_a_row_for_each_excursion_and_what_stays_outside() -> None:
    drawing = check(sheets("demo")["timeline-campaign.svg"])
    assert [one.get("data-excursion") for one in drawing.groups("excursion")] == ["first", "second", "third"]
    blocks = {(one.get("data-actor"), one.get("data-task"), one.get("data-place")) for one in drawing.groups("block")}
    wanted = {
        (actor.name, step.entry.task.name, f"{step.entry.task.decl.path}:{step.entry.task.decl.line}")
        for view in views("demo")
        for actor, steps in view.own.items()
        for step in steps
        if not is_idle(step)
    }
    assert blocks == wanted
    words = [one.text for one in drawing.words]
    outside = [one for one in words if one.startswith("stays outside until")]
    assert len(outside) == 2 and all("Arm perch" in one for one in outside)
    keyed = {_texts(one)[0] for one in drawing.groups("keyed")}
    printed = {number for one in words if re.fullmatch(r"\d+(, \d+)*", one) for number in one.split(", ")}
    assert printed == keyed


# --- plans that lack things ------------------------------------------------------------------------------------------


def bare(steps: int, actors: int) -> Checked:
    """No step has a duration; no limit, no light, no supplies."""
    builder = Builder("bare")
    builder.kind("crew", "actor")
    builder.kind("deck", "location")
    builder.thing("north", "deck")
    names = tuple(f"crew{number}" for number in range(actors))
    for name in names:
        builder.thing(name, "crew", at="north")
    work = builder.action("work", None)
    builder.excursion("only", names)
    task = builder.task("all")
    for number in range(steps):
        name = names[number % actors]
        builder.step(builder.entry(task, builder.block(name), (name,), work, (), f"thing {number} of quite a few"))
    return builder.checked()


@pytest.mark.parametrize(("steps", "actors"), [(0, 1), (1, 1), (40, 2), (200, 13)])
def test_plans_without_durations_show_every_step_in_its_order(steps: int, actors: int) -> None:
    checked = bare(steps, actors)
    made = small(checked)
    for svg in made.values():
        check(svg)
    (view,) = views_of(checked.flow)
    drawings = excursion_sheets(made, view)
    assert shown_steps(drawings) == steps_of(view, every=True)
    for actor, own in view.own.items():
        order = [
            group.get("data-step")
            for drawing in drawings
            for group in sorted(drawing.groups("step"), key=lambda one: _extent(one)[0])
            if group.get("data-actor") == actor.name
        ]
        assert order == [step_id(view, step) for step in own]


def test_an_unordered_excursion_says_so() -> None:
    checked = bare(3, 1)
    checked.flow.excursions[0].complete = False
    made = small(checked)
    for svg in made.values():
        assert "NOT WORKED OUT" in " ".join(one.text for one in check(svg).words)


def test_an_excursion_called_campaign_does_not_hide_the_campaign(tmp_path: Path) -> None:
    root = write_campaign(tmp_path, 20)
    text = root.read_text(encoding="utf-8").replace("excursion long ", "excursion campaign ")
    root.write_text(text, encoding="utf-8")
    checked = check_plan(root)
    assert checked.flow is not None
    made = crew_timelines(checked.world, views_of(checked.flow), frame_of(checked, unchecked=False))
    assert len(made) == 2 and "The campaign" in made["timeline-campaign.svg"]


def test_a_long_excursion_of_many_steps_goes_over_several_sheets(tmp_path: Path) -> None:
    checked = check_plan(write_campaign(tmp_path, 900))
    assert checked.flow is not None
    found = views_of(checked.flow)
    made = crew_timelines(checked.world, found, frame_of(checked, unchecked=False))
    assert len(made) > 8
    drawings = [check(svg) for svg in made.values()]
    assert all(struck_in_the_open(drawing) == [] for drawing in drawings)
    assert shown_steps(excursion_sheets(made, found[0])) == steps_of(found[0], every=True)


# --- the parts -------------------------------------------------------------------------------------------------------


def test_a_strip_knows_what_is_free() -> None:
    strip = Strip()
    strip.take(10, 20)
    strip.take(30, 40)
    assert strip.holes(0, 50) == [(0, 10), (20, 30), (40, 50)]
    assert strip.free(20, 30) and not strip.free(19, 25)
    assert strip.first(5, 50, 8) == 20 and strip.first(5, 50, 11) is None
    assert strip.widest(0, 36) == (0, 10)


def test_a_key_loses_nothing_when_it_is_split() -> None:
    key = Key(Numbers(), 1100)
    for number in range(90):
        key.number("step", number, "0:10", "W", f"words of step {number} " * (1 + number % 4), {})
    before = set(key.entries)
    parts = [key]
    while not parts[-1].fits(120):
        parts.append(parts[-1].split(120))
    assert len(parts) > 1 and all(part.fits(120) and part.entries for part in parts)
    assert sorted(number for part in parts for number in part.entries) == sorted(before)


def test_moments_are_found_again_on_the_axis() -> None:
    view = views("demo")[1]
    assert view.times is not None
    axis = Axis(view, view.times, 1000.0)
    for step in view.flow.steps:
        at = view.times.start[step.index]
        assert abs(axis.when(axis.right(at)) - at) <= 1
    assert axis.right(view.times.makespan) == pytest.approx(axis.sheets * 1000)


def test_a_tie_through_words_in_the_open_would_be_seen() -> None:
    svg = sheets("demo")["timeline-first.svg"]
    drawing = read(svg)
    place = next(one for one in drawing.words if one.text == "Rack rail")
    x, y = (place.area.left + place.area.right) / 2, place.area.bottom + 4
    first = '<g class="tie chain"'
    line = f'<g class="tie meeting"><line class="s-ink" x1="{x}" y1="{y - 12}" x2="{x}" y2="{y}"/></g>'
    assert struck_in_the_open(read(svg.replace(first, line + first, 1))) == ["Rack rail"]


# --- reading a sheet back --------------------------------------------------------------------------------------------


def _texts(group: ElementTree.Element) -> list[str]:
    return [one.text or "" for one in group.iter(f"{NS}text")]


def _numbers(d: str) -> list[float]:
    return [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", d)]


def _extent(group: ElementTree.Element) -> tuple[float, float]:
    """Left and right of a bar."""
    shape = next(one for one in group if one.tag == f"{NS}path")
    xs = _numbers(shape.get("d", ""))[::2]
    return min(xs), max(xs)


def _lane_lines(drawing: Drawing) -> dict[str, float]:
    """The y of each actor's line."""
    found = {}
    for lane in drawing.groups("lane"):
        rope = next(one for one in lane if one.tag == f"{NS}line")
        found[lane.get("data-actor") or ""] = float(rope.get("y1", "0"))
    return found


def _upright(group: ElementTree.Element) -> tuple[float, float, float]:
    """x, top and lower end of a tie, its arrow's head with it."""
    lines = [one for one in group if one.tag == f"{NS}line"]
    ys = [float(one.get(key, "0")) for one in lines for key in ("y1", "y2")]
    xs = [float(one.get("x1", "0")) for one in lines]
    for head in (one for one in group if one.tag == f"{NS}path"):
        ys += _numbers(head.get("d", ""))[1::2]
    return sum(xs) / len(xs), min(ys), max(ys)


def _arrow_tip(group: ElementTree.Element) -> float:
    head = next(one for one in group if one.tag == f"{NS}path")
    return _numbers(head.get("d", ""))[1]


def _giver_and_taker(world, step, thing) -> tuple[str, str]:  # type: ignore[no-untyped-def]
    change = next(one for one in step.changes if one.var == thing.held_var)
    before = {held.holder.name for held in change.before if held.holder in step.cast}
    after = {held.holder.name for held in change.after if held.holder in step.cast}
    (giver,), (taker,) = before - after, after - before
    return giver, taker
