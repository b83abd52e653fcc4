"""What must hold of every printed output, whatever the plan."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from outputs.small_plan import Checked, crane, pier

from jackstay.model.records import Guard
from jackstay.model.records import Test as Literal
from jackstay.outputs.build import build
from jackstay.outputs.clock import clock, minutes, total
from jackstay.outputs.drawing import layout_program
from jackstay.outputs.frame import identity
from jackstay.outputs.trace import UnknownThing, trace_text
from jackstay.outputs.views import is_written
from jackstay.pipeline import check

TEXTS = (
    "timeline.txt",
    "checklist-wren.txt",
    "checklist-teal.txt",
    "combined.txt",
    "pack.txt",
    "end.txt",
    "luck.txt",
    "way-home.txt",
    "custody.txt",
)


@pytest.fixture(scope="module")
def plan() -> Checked:
    return pier()


@pytest.fixture(scope="module")
def made(plan: Checked) -> dict[str, str]:
    return {name: data.decode() for name, data in build(plan).items()}


def test_the_same_plan_gives_the_same_bytes(plan: Checked) -> None:
    assert build(plan) == build(pier())


def test_every_file_is_there(made: dict[str, str]) -> None:
    sheets = ("order-campaign", "order-only-1")
    drawn = {f"{one}.svg" for one in sheets} if layout_program() else {"order-not-drawn.txt"}
    drawn |= {f"{one}.dot" for one in sheets}
    pages = {f"{name}.html" for name in ("checklist-wren", "checklist-teal", "combined", "pack")}
    pages.add("review.html")
    pictures = {*pages, "custody-1.svg", "who-holds-what-1.svg", "frames-only.svg"}
    pictures |= {"timeline-campaign.svg", "timeline-only.svg"}
    assert set(made) == {*TEXTS, "plan.json", *drawn, *pictures}


@pytest.mark.parametrize("name", TEXTS)
def test_text_is_no_wider_than_a_page_and_plain(made: dict[str, str], name: str) -> None:
    for line in made[name].splitlines():
        assert len(line) <= 100, line
        assert line == line.rstrip()
        assert line.isascii()


@pytest.mark.parametrize("name", [*TEXTS, "order-only-1.dot"])
def test_title_identity_and_safety_words_frame_it(made: dict[str, str], plan: Checked, name: str) -> None:
    text = made[name]
    assert identity(plan.sources.items()) in text
    assert plan.world.title in text[:400]
    assert "not certified" in text
    assert "suit power" in text  # the clock is named


@pytest.mark.parametrize("name", [*TEXTS, "order-only-1.dot", "order-only-1.svg", "plan.json"])
def test_an_unchecked_plan_says_so_loudly(plan: Checked, name: str) -> None:
    if name.endswith(".svg") and layout_program() is None:
        pytest.skip("no layout program on this machine")
    loud = build(plan, unchecked=True)[name].decode()
    calm = build(plan)[name].decode()
    assert "UNCHECKED" in loud
    assert "UNCHECKED" not in calm
    if name in TEXTS:
        assert loud.startswith("UNCHECKED")


@pytest.mark.parametrize("actor", ["wren", "teal"])
def test_each_written_step_stands_once_in_its_actor_s_checklist(
    made: dict[str, str], plan: Checked, actor: str
) -> None:
    body = made[f"checklist-{actor}.txt"].split("~~ CARD")[0]
    mine = [
        step
        for flow in plan.flow.excursions
        for step in flow.steps
        if is_written(step) and actor in [one.name for one in step.cast]
    ]
    boxes = [line for line in body.splitlines() if "  [ ] " in line]
    assert len(boxes) == len(mine)
    for number, (line, step) in enumerate(zip(boxes, mine, strict=True), start=1):
        assert re.match(rf"  \d:\d\d[+ ] +\[ \]\s+{number}  ", line)
        assert step.entry.text in line
        assert line.endswith(f"pier.stay:{step.entry.at.line}")
    inserted = [line for line in body.splitlines() if re.match(r"  \d:\d\d[+ ] +>  ", line)]
    expected = [
        step
        for flow in plan.flow.excursions
        for step in flow.steps
        if step.inserted and actor in [one.name for one in step.cast]
    ]
    assert len(inserted) == len(expected)


def test_a_warning_stands_before_its_step_and_the_call_after(made: dict[str, str]) -> None:
    text = made["checklist-wren.txt"]
    assert text.index("WARNING: The glass") < text.index("undo bolts of lamp") < text.index('CALL "bolts out"')
    assert text.index("WARNING: The glass") > text.index("go to pier-end")


def test_waits_readings_answers_and_droppable_tasks_are_told(made: dict[str, str]) -> None:
    teal = made["checklist-teal.txt"]
    assert 'WAIT for Wren: "bolts out"' in teal
    assert "expected 210 to 230 kPa    actual ____" in teal
    assert "MAY BE DROPPED (wanted)" in teal
    assert "if a bolt sticks: card F1, stuck" in made["checklist-wren.txt"]
    assert "~~ CARD F1: The bolts will not turn" in made["checklist-wren.txt"]
    assert "Wren leads" not in teal and "Wren and you: hand lamp to teal" in teal


def test_no_duration_is_said_and_never_counted_as_known(made: dict[str, str]) -> None:
    timeline = made["timeline.txt"]
    assert re.search(r"no duration +pull lamp off lamp-seat", timeline)
    assert re.search(r"0:23\+ +\* +2 min   with Teal: hand lamp to teal", timeline)
    steps = json.loads(made["plan.json"])["excursions"][0]["steps"]
    pull = next(step for step in steps if step["text"].startswith("pull"))
    hand = next(step for step in steps if step["text"].startswith("hand"))
    assert pull["duration"] is None and pull["end"] is None
    assert hand["start"] is None and hand["start_at_least"] == 23 * 60


def test_the_pack_list_has_what_goes_out_and_what_comes_in(made: dict[str, str]) -> None:
    text = made["pack.txt"]
    out, back = text.split("-- Comes in")
    assert "Goes out on Wren" in out
    assert out.index("[ ] Kit (by clip)") < out.index("    [ ] Driver")
    assert "Spare bag" not in text  # it stays inside
    assert "Pier lamp, worn [lamp] - was outside before; with Teal" in back
    assert "lamp" not in out.split("Goes out on")[1].lower()


def test_the_end_lists_what_is_outside_and_what_is_not_normal(made: dict[str, str]) -> None:
    text = made["end.txt"]
    assert "Kit - Wren (by clip), at Pier end; left there" in text
    assert "bolts of Pier lamp, worn [lamp] is 0 of 2, normally 2 of 2" in text
    assert "Pier lamp, worn [lamp]: Lamp seat (by bolts), at Pier end -> Teal (by hand), at Lock" in text


def test_the_data_names_every_step_once(made: dict[str, str], plan: Checked) -> None:
    data = json.loads(made["plan.json"])
    assert data["schema"] == "jackstay.plan/1"
    (excursion,) = data["excursions"]
    names = [step["identity"] for step in excursion["steps"]]
    assert len(names) == len(set(names)) == len(plan.flow.excursions[0].steps)
    assert {step["source"] for step in excursion["steps"]} <= {f"pier.stay:{n}" for n in range(1, 100)}


def test_a_trace_follows_the_thing(plan: Checked) -> None:
    text = trace_text(plan, "lamp")
    places = [text.index(words) for words in ("= Lamp seat (by bolts)", "= Wren has it", "= Teal has it", "at Lock")]
    assert places == sorted(places)
    assert "= Driver" not in text
    kit = trace_text(plan, "kit")
    assert "holds Driver (by pouch)" in kit and "holds nothing" in kit
    assert "at Pier end" in trace_text(plan, "wren")


def test_a_trace_of_a_name_that_is_not_there_suggests_one(plan: Checked) -> None:
    with pytest.raises(UnknownThing, match=r"lmap.*lamp"):
        trace_text(plan, "lmap")


def test_a_circular_excursion_is_said_to_be_not_worked_out() -> None:
    plan = pier()
    plan.flow.excursions[0].complete = False
    made = build(plan, unchecked=True)
    for name in TEXTS:
        assert b"NOT WORKED OUT" in made[name], name
    assert json.loads(made["plan.json"])["excursions"][0]["worked_out"] is False


def test_identity_depends_on_texts_and_paths_not_on_order() -> None:
    assert identity([("a", "1"), ("b", "2")]) == identity([("b", "2"), ("a", "1")])
    assert len({identity([("a", "1")]), identity([("a", "2")]), identity([("b", "1")]), identity([("a1", "")])}) == 4


@pytest.mark.parametrize(
    ("seconds", "clocked", "whole", "long"),
    [
        (0, "0:00", "0:00", "0 min"),
        (59, "0:00", "0:01", "1 min"),
        (74, "0:01", "0:02", "1.2 min"),
        (3600, "1:00", "1:00", "60 min"),
        (2, "0:00", "0:01", "< 0.1 min"),
        (23_999, "6:39", "6:40", "400 min"),
    ],
)
def test_times_in_print(seconds: int, clocked: str, whole: str, long: str) -> None:
    assert clock(Fraction(seconds)) == clocked
    assert total(Fraction(seconds)) == whole
    assert minutes(Fraction(seconds)) == long


def test_who_runs_a_machine_has_its_steps_and_speaks_its_calls() -> None:
    made = {name: data.decode() for name, data in build(crane()).items()}
    moss, heron, wren = (made[f"checklist-{name}.txt"] for name in ("moss", "heron", "wren"))
    assert ">  run Heron: swing to south" in moss
    assert 'CALL "there"' in moss
    assert "Checklist: Heron, run by Moss" in heron
    assert 'Moss for Heron calls "there"' in heron
    assert 'WAIT for Moss for Heron: "there"' in wren
    assert 'BESIDE Wren, once the step that ends with "worked" has begun' in moss


def test_the_timeline_tells_what_is_held_open() -> None:
    text = build(crane())["timeline.txt"].decode()
    assert "held open 5 min more, until Moss is through with: watch" in text
    assert 'wait for Moss for Heron: "there" (5 min from 0:00)' in text


def test_a_task_on_a_condition_is_a_card_and_not_lost() -> None:
    plan = pier()
    (only,) = plan.world.excursions
    home = next(task for task in only.tasks if task.name == "home")
    subject = plan.world.things[0]
    home.guard = Guard(
        (Literal("done", False, subject, None, None, "carry", None, home.decl, "carry is done"),), home.decl
    )
    flow = plan.flow.excursions[0]  # as the flow leaves it: not flown
    flow.steps.pop()
    flow.predecessors.pop()
    text = build(plan)["checklist-teal.txt"].decode()
    assert "~~ CARD G1.1: Home" in text and "Only if carry is done." in text
    assert "go to lock" not in text


def test_a_plan_that_was_not_followed_is_not_printed() -> None:
    plan = pier()
    plan.flow = None  # type: ignore[assignment]  # names or texts are wrong
    made = build(plan, unchecked=True)
    assert list(made) == ["not-followed.txt"]
    assert made["not-followed.txt"].startswith(b"UNCHECKED")
    with pytest.raises(LookupError, match="not followed"):
        trace_text(plan, "lamp")


def test_a_trace_goes_by_the_clock() -> None:
    """Of every thing of the demo: rows of an excursion by their clocks, though its actors' steps stand one actor after
    the other in the text; and who is in a place at a time is there by then."""
    demo = check(Path(__file__).parents[2] / "examples" / "tarn-depot" / "campaign.stay")
    several = 0
    for thing in demo.world.things:
        for section in trace_text(demo, thing.name).split("\n== Excursion ")[1:]:
            clocks = [60 * int(one[0]) + int(one[1]) for one in re.findall(r"^ +(\d+):(\d\d)[+ ] ", section, re.M)]
            assert clocks == sorted(clocks), thing.name
            several += len(clocks) > 1
    assert several > 10
