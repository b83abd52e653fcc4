"""The order diagram, read back from its drawings: nothing overlaps, everything is there, every reason is drawn."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise
from xml.etree import ElementTree

import networkx as nx
import pytest
from outputs.geometry import NS, Area, Drawing, overlaps, read
from outputs.plans import PLANS, plan
from outputs.small_plan import Builder, Checked, crane, minutes, pier

from jackstay.flow.records import Change
from jackstay.model.records import Guard, Holding, Thing
from jackstay.model.records import Test as Literal
from jackstay.outputs import drawing as layout_module
from jackstay.outputs.drawing import layout_program
from jackstay.outputs.frame import frame_of
from jackstay.outputs.look import A3_HEIGHT, A3_WIDTH, step_id
from jackstay.outputs.order import order
from jackstay.outputs.order_boxes import MOST_STUBS, Row, stubs
from jackstay.outputs.order_graph import graph_of, handed_over
from jackstay.outputs.order_parts import MOST, Room, cut, halves, pack
from jackstay.outputs.views import is_idle, is_written, views_of
from jackstay.timing.schedule import own_predecessors

drawn_here = pytest.mark.skipif(layout_program() is None, reason="no layout program on this machine")
SMALL_PLANS = {"pier": pier, "crane": crane}
ALL = (*PLANS, *SMALL_PLANS)


@cache
def checked(name: str) -> Checked:
    return SMALL_PLANS[name]() if name in SMALL_PLANS else plan(name)  # type: ignore[return-value]


@cache
def sheets(name: str) -> dict[str, str]:
    one = checked(name)
    return order(one.world, views_of(one.flow), frame_of(one, False))


@cache
def drawings(name: str) -> dict[str, Drawing]:
    return {file: read(text) for file, text in sheets(name).items() if file.endswith(".svg")}


def nodes(drawing: Drawing) -> list[ElementTree.Element]:
    return drawing.groups("node")


def shape_of(node: ElementTree.Element) -> Area:
    """A box's outline: its first rectangle or path."""
    first = next(child for child in node if child.tag in (f"{NS}rect", f"{NS}path"))
    if first.tag == f"{NS}rect":
        x, y, wide, high = (float(first.get(key, "0")) for key in ("x", "y", "width", "height"))
        return Area(x, y, x + wide, y + high)
    points = corners(first)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Area(min(xs), min(ys), max(xs), max(ys))


def corners(path: ElementTree.Element) -> list[tuple[float, float]]:
    numbers = [float(one) for one in re.findall(r"-?\d+(?:\.\d+)?", path.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def outline_of(node: ElementTree.Element) -> object:
    """What an outline looks like whatever its size: its corners against the box, its dash, how thick it is."""
    first = next(child for child in node if child.tag in (f"{NS}rect", f"{NS}path"))
    area = shape_of(node)
    places = [(x == area.left, x == area.right, y == area.top, y == area.bottom) for x, y in corners(first)]
    lines = [child for child in node if child.get("class") == "n s-ink"]
    more = [child for child in lines if "stroke-dasharray" not in child.attrib]  # not the sign of a call
    look = (first.get("stroke-dasharray"), first.get("stroke-width"), first.get("rx"))
    return tuple(places), look, len(more)


# --- on paper --------------------------------------------------------------------------------------------------------


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_nothing_overlaps_and_all_is_on_a3_in_type_that_can_be_read(name: str) -> None:
    for file, drawing in drawings(name).items():
        page = drawing.page
        assert page.right <= A3_HEIGHT + 0.02 and page.bottom <= A3_WIDTH + 0.02, file  # upright
        assert [one.text for one in drawing.words if one.size < 7] == [], file
        assert [one.text for one in drawing.words if not page.holds(one.area)] == [], file
        assert [one for one in drawing.shapes if not page.holds(one, 1.5)] == [], file
        assert [one.text for one in drawing.words if one.box is not None and not one.box.holds(one.area)] == [], file
        assert overlaps(drawing) == [], file
        ids = [element.get("id") for element in drawing.root.iter() if element.get("id")]
        assert len(ids) == len(set(ids)), file


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_boxes_lie_apart_and_within_their_section(name: str) -> None:
    for file, drawing in drawings(name).items():
        areas = [shape_of(node) for node in nodes(drawing)]
        for at, one in enumerate(areas):
            assert not any(one.meets(other) for other in areas[at + 1 :]), file
        sections = [shape_of(section) for section in drawing.groups("section")]
        if sections:
            assert all(any(section.holds(one) for section in sections) for one in areas), file
            assert not any(a.meets(b) for at, a in enumerate(sections) for b in sections[at + 1 :]), file


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_no_wire_runs_through_a_box(name: str) -> None:
    for file, drawing in drawings(name).items():
        areas = [shape_of(node) for node in nodes(drawing)]
        for wire in drawing.groups("wire"):
            line = next(child for child in wire if child.tag == f"{NS}path" and "s-paper" not in child.get("class", ""))
            for (ax, ay), (bx, by) in pairwise(corners(line)):
                for share in (0.0, 0.25, 0.5, 0.75):
                    x, y = ax + (bx - ax) * share, ay + (by - ay) * share
                    inside = [a for a in areas if a.left + 1 < x < a.right - 1 and a.top + 1 < y < a.bottom - 1]
                    assert not inside, (file, wire.attrib)


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_a_sheet_has_at_most_forty_boxes(name: str) -> None:
    for file, drawing in drawings(name).items():
        assert 1 <= len(nodes(drawing)) <= MOST, file


# --- what is on it ---------------------------------------------------------------------------------------------------


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_every_step_stands_once_over_the_sheets_with_its_source_line(name: str) -> None:
    found: Counter[tuple[str, str]] = Counter()
    words: dict[str, str] = {}
    for file, drawing in drawings(name).items():
        if file.startswith("order-campaign"):
            continue
        for element in drawing.root.iter(f"{NS}g"):
            if "data-step" in element.attrib:
                found[element.attrib["data-step"], element.attrib["data-place"]] += 1
                words[element.attrib["data-step"]] = "".join(element.itertext())
    expected: Counter[tuple[str, str]] = Counter()
    for view in views_of(checked(name).flow):
        boxes = {node.index for node in graph_of(view).nodes.values()}
        for step in view.flow.steps:
            if not is_idle(step) or step.index in boxes:
                at = step.entry.at
                expected[step_id(view, step), f"{at.path}:{at.line}"] += 1
            if is_written(step):
                assert f"{at.path}:{at.line}" in words[step_id(view, step)]
    assert found == expected


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_every_task_and_fallback_stands_once_on_the_campaign_sheets(name: str) -> None:
    found = Counter(
        node.get("data-task") or node.get("data-fallback")
        for file, drawing in drawings(name).items()
        if file.startswith("order-campaign")
        for node in nodes(drawing)
    )
    expected: Counter[str | None] = Counter()
    for view in views_of(checked(name).flow):
        expected.update(f"{view.excursion.name}/{task.name}" for task in view.excursion.tasks)
        expected.update(f"{view.excursion.name}/{one.name}" for one in view.excursion.fallbacks)
    assert found == expected


def reasons(name: str) -> nx.DiGraph:
    """What the sheets say comes after what: by a wire, or by two stubs, each in the box of one step and naming the
    other."""
    found = nx.DiGraph()
    leaves: set[tuple[str, str]] = set()
    comes: set[tuple[str, str]] = set()
    for drawing in drawings(name).values():
        for wire in drawing.groups("wire"):
            if wire.get("data-why") != "card":
                found.add_edge(wire.get("data-from"), wire.get("data-to"))
        for node in nodes(drawing):
            own = node.get("data-step", "")
            for stub in node.iter(f"{NS}g"):
                told = re.search(r"sheets? \d", " ".join(stub.itertext()))
                for far in stub.get("data-to", "").split() if told else []:
                    leaves.add((own, far))
                for far in stub.get("data-from", "").split() if told else []:
                    comes.add((far, own))
    assert not (leaves & comes) & set(found.edges), "a stub beside a wire"
    found.add_edges_from(leaves & comes)
    return found


@drawn_here
@pytest.mark.parametrize("name", ALL)
def test_every_reason_of_the_order_is_drawn(name: str) -> None:
    found = reasons(name)
    for view in views_of(checked(name).flow):
        graph = graph_of(view)
        for link in graph.links:
            tail, head = (step_id(view, graph.nodes[one].step) for one in (link.tail, link.head))
            assert found.has_edge(tail, head)
        own = own_predecessors(view.flow)
        for step in view.flow.steps:
            for earlier in {*view.flow.predecessors[step.index], *own[step.index].values()}:
                tail, head = graph.home[earlier], graph.home[step.index]
                if tail != head:
                    ends = (step_id(view, graph.nodes[one].step) for one in (tail, head))
                    assert nx.has_path(found, *ends)
        for inner, outer in view.flow.companions:
            ends = (step_id(view, graph.nodes[graph.home[one]].step) for one in (outer, inner))
            assert found.has_edge(*ends)


@drawn_here
def test_every_wait_is_named_in_the_box_that_waits() -> None:
    boxes = {node.get("data-step"): node for drawing in drawings("demo").values() for node in nodes(drawing)}
    count = 0
    for view in views_of(checked("demo").flow):
        graph = graph_of(view)
        for index, waits in view.waits.items():
            box = boxes[step_id(view, graph.nodes[graph.home[index]].step)]
            told = " ".join(box.itertext())
            for wait in waits:
                assert f'"{wait.mark.name.replace("-", " ")}"' in told
                count += 1
    assert count > 40


@drawn_here
def test_joint_steps_hand_overs_critical_steps_and_fallbacks_differ_in_outline() -> None:
    svgs = [text for file, text in sheets("demo").items() if re.match(r"order-(first|second|third)-\d+\.svg", file)]
    seen: dict[str, object] = {}
    for file, drawing in drawings("demo").items():
        for node in nodes(drawing) if not file.startswith("order-campaign") else []:
            sort = node.get("class", "").removeprefix("box node ")
            assert seen.setdefault(sort, outline_of(node)) == outline_of(node)
    assert {"single", "joint critical", "handover critical", "card", "single critical", "inserted critical"} <= set(
        seen
    )
    assert len(set(seen.values())) == len(seen)
    styles = {
        why: dash
        for text in svgs
        for why, dash in re.findall(
            r'data-why="(call|after|card|beside)"[^>]*>\s*<title>[^<]*</title>\s*<path [^>]*dasharray="([^"]*)"', text
        )
    }
    assert {"call", "card", "beside"} <= set(styles) and len(set(styles.values())) == len(styles)
    assert all('aria-label="' in node for text in svgs for node in re.findall(r'<g class="box node [^>]*>', text))


def test_what_changes_hands_is_found_from_the_state_not_from_the_words() -> None:
    (view,) = views_of(pier().flow)
    graph = graph_of(view)
    given = [node for node in graph.nodes.values() if node.handed]
    assert [(node.sort, [thing.name for thing in node.handed]) for node in given] == [("handover", ["lamp"])]


def test_who_takes_hold_as_well_gets_nothing_handed_over() -> None:
    one = pier()
    (view,) = views_of(one.flow)
    lamp = next(thing for thing in one.world.things if thing.name == "lamp")
    wren, teal = (member.actor for member in view.excursion.crew)
    given = next(step for step in view.flow.steps if handed_over(one.world, step))

    def changed(before: list[Thing], after: list[Thing]) -> list[Thing]:
        held = [tuple(Holding("hand", who) for who in side) for side in (before, after)]
        given.changes = (Change(lamp.held_var, *held),)
        return handed_over(one.world, given)

    assert changed([wren], [teal]) == [lamp]
    assert changed([wren], [wren, teal]) == changed([wren, teal], [wren]) == changed([], [teal]) == []
    given.cast = (wren,)
    assert changed([wren], [teal]) == []


def test_of_what_the_text_says_of_tasks_only_the_last_reason_is_drawn() -> None:
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    for name in ("p0", "p1"):
        b.thing(name, "person", at="room-a")
    work = b.action("work", minutes(1))
    b.excursion("one", ("p0", "p1"))
    first, second = b.task("first"), b.task("second")
    for task in (first, second):
        b.step(b.entry(task, b.block("p0", place="room-a"), ("p0",), work, (), "work"))
    third = b.task("third", after=(first, second))
    b.step(b.entry(third, b.block("p1", place="room-a"), ("p1",), work, (), "work"))
    one = b.checked()
    assert one.flow.excursions[0].predecessors[2] == (0, 1)
    (view,) = views_of(one.flow)
    assert {(link.tail, link.head, link.sort) for link in graph_of(view).links} == {(0, 1, "own"), (1, 2, "after")}


@drawn_here
def test_the_critical_chain_is_marked_box_for_box() -> None:
    marked = {
        node.get("data-step")
        for file, drawing in drawings("demo").items()
        if not file.startswith("order-campaign")
        for node in nodes(drawing)
        if "critical" in node.get("class", "").split()
    }
    expected = set()
    for view in views_of(checked("demo").flow):
        graph = graph_of(view)
        assert view.times is not None
        expected |= {step_id(view, graph.nodes[graph.home[i]].step) for i in view.times.critical}
    assert marked == expected


@drawn_here
def test_a_fallback_stands_beside_the_step_that_may_call_it() -> None:
    count = 0
    for view in views_of(checked("demo").flow):
        for card in graph_of(view).cards:
            name = f"{view.excursion.name}/{card.fallback.name}"
            (sheet,) = [
                drawing
                for file, drawing in drawings("demo").items()
                if not file.startswith("order-campaign")
                and any(node.get("data-fallback") == name for node in nodes(drawing))
            ]
            (shown,) = [node for node in nodes(sheet) if node.get("data-fallback") == name]
            assert shown.get("class") == "box node card"
            tails = [one.get("data-from") for one in sheet.groups("wire") if one.get("data-to") == name]
            callers = [step_id(view, graph_of(view).nodes[node].step) for node, _ in card.callers]
            assert tails and set(tails) <= set(callers)
            texts = {
                node.get("data-step"): " ".join(node.itertext())
                for one in drawings("demo").values()
                for node in nodes(one)
            }
            for caller, (_, outcome) in zip(callers, card.callers, strict=True):
                assert f"if {outcome}" in texts[caller]
                count += 1
    assert count >= 3


def test_a_task_on_a_condition_and_a_fallback_that_nobody_calls_are_not_lost() -> None:
    one = pier()
    (only,) = one.world.excursions
    home = next(task for task in only.tasks if task.name == "home")
    test = Literal("done", False, one.world.things[0], None, None, "carry", None, home.decl, "carry is done")
    home.guard = Guard((test,), home.decl)
    flow = one.flow.excursions[0]
    flow.steps.pop()
    flow.predecessors.pop()
    for entry in only.entries:
        entry.answers = ()
    only.fallbacks[0].instead = ()
    made = order(one.world, views_of(one.flow), frame_of(one, False))
    steps = "".join(text for file, text in made.items() if file.startswith("order-only") and file.endswith(".dot"))
    assert "only if carry is done" in steps and "fallback stuck" in steps
    assert "only if carry is done" in made["order-campaign.dot"] and "fallback stuck" in made["order-campaign.dot"]


@drawn_here
def test_stubs_name_a_sheet_that_has_the_other_step() -> None:
    where: dict[str, set[str]] = {}
    for file, drawing in drawings("demo").items():
        match = re.fullmatch(r"order-second-(\d+)\.svg", file)
        for node in nodes(drawing) if match else []:
            where.setdefault(" ".join(node.itertext()), set()).add(match[1])  # type: ignore[index]
    checked_stubs = 0
    for text, (number,) in where.items():
        for far, words in re.findall(r'to sheet (\d+)[a-z]?: [^"]*? on "([^"…]+)"', text):
            assert any(far in sheet and f', "{words}"' in other for other, sheet in where.items() if number != far) or (
                far == number
            )
            checked_stubs += 1
    assert checked_stubs > 5


# --- as files --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["demo", "pier"])
def test_the_same_plan_gives_the_same_bytes(name: str) -> None:
    one = checked(name)
    assert order(one.world, views_of(one.flow), frame_of(one, False)) == sheets(name)


@pytest.mark.parametrize("name", ALL)
def test_each_sheet_has_a_text_beside_it_with_title_identity_and_safety_words(name: str) -> None:
    made, frame = sheets(name), frame_of(checked(name), False)
    for file, text in made.items():
        if file.endswith(".dot"):
            assert frame.identity in text and "not certified" in text and frame.title.split()[0] in text[:400]
        if layout_program() is not None:
            assert file.rsplit(".", 1)[0] + (".svg" if file.endswith(".dot") else ".dot") in made


@drawn_here
def test_the_texts_are_understood_by_the_layout_program_too() -> None:
    for file, text in sheets("long names").items():
        if file.endswith(".dot"):
            graphs = [f"digraph {part}" for part in text.split("\ndigraph ")[1:]]
            boxes = sum(len(layout.boxes) for layout in layout_module.layouts(graphs))
            assert boxes == len(nodes(drawings("long names")[file.replace(".dot", ".svg")]))


def test_without_a_layout_program_the_texts_are_there_and_a_file_says_why(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(layout_module, "layout_program", lambda: None)
    one = checked("demo")
    made = order(one.world, views_of(one.flow), frame_of(one, False))
    assert "no graph layout program" in made["order-not-drawn.txt"]
    assert not any(file.endswith(".svg") for file in made)
    text = "".join(part for file, part in made.items() if file.endswith(".dot"))
    for words in ("undo 2 bolts of old-cooler", "hand heater-box to heron", "from sheet", "[hand-over]", "[joint]"):
        assert words in text


def test_a_program_that_fails_or_talks_nonsense_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    one = checked("pier")
    for program, why in (("/bin/false", "failed"), ("/bin/true", "drew 0 of"), ("/bin/echo", "not understood")):
        monkeypatch.setattr(layout_module, "layout_program", lambda program=program: program)
        made = order(one.world, views_of(one.flow), frame_of(one, False))
        assert why in made["order-not-drawn.txt"], program


def test_an_unchecked_plan_says_so_on_every_sheet() -> None:
    one = checked("pier")
    for text in order(one.world, views_of(one.flow), frame_of(one, True)).values():
        assert "UNCHECKED" in text
    assert not any("UNCHECKED" in text for text in sheets("pier").values())


def test_an_excursion_without_an_order_is_said_to_be_not_worked_out() -> None:
    one = pier()
    one.flow.excursions[0].complete = False
    made = order(one.world, views_of(one.flow), frame_of(one, True))
    assert {file.rsplit(".", 1)[0] for file in made} <= {"order-campaign", "order-not-drawn"}
    assert "NOT WORKED OUT" in made["order-campaign.dot"]


def test_excursions_of_one_name_do_not_overwrite_one_another() -> None:
    one = pier()
    views = views_of(one.flow)
    twin = replace(views[0], number=2)
    made = order(one.world, [views[0], twin], frame_of(one, False))
    assert {"order-only-1.dot", "order-only-x-1.dot"} <= set(made)


# --- cutting and packing ---------------------------------------------------------------------------------------------


def long_task(count: int) -> Checked:
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    b.thing("p0", "person", at="room-a")
    work = b.action("work", minutes(1))
    b.excursion("one", ("p0",))
    task = b.task("all")
    block = b.block("p0", place="room-a")
    for _ in range(count):
        b.step(b.entry(task, block, ("p0",), work, (), "work"))
    return b.checked()


@drawn_here
def test_a_task_that_is_too_long_for_a_sheet_is_cut() -> None:
    one = long_task(95)
    made = order(one.world, views_of(one.flow), frame_of(one, False))
    found = [read(text) for file, text in made.items() if re.fullmatch(r"order-one-\d+\.svg", file)]
    assert 3 <= len(found) <= 5
    assert sum(len(nodes(drawing)) for drawing in found) == 95
    assert all(len(nodes(drawing)) <= MOST for drawing in found)


@drawn_here
def test_a_plan_of_2500_steps_keeps_to_paper_and_to_few_sheets(monkeypatch: pytest.MonkeyPatch) -> None:
    runs: list[int] = []
    run = layout_module._run

    def counted(program: str, graphs: list[str]) -> list[layout_module.Layout]:
        runs.append(len(graphs))
        return run(program, graphs)

    monkeypatch.setattr(layout_module, "_run", counted)
    found = drawings("generated 2500")
    assert len(runs) <= 6  # the program is started for many panels at once
    boxes = [len(nodes(drawing)) for file, drawing in found.items() if not file.startswith("order-campaign")]
    assert max(boxes) <= MOST and len(boxes) <= sum(boxes) / 15
    written = sum(is_written(step) for view in views_of(checked("generated 2500").flow) for step in view.flow.steps)
    assert sum(boxes) == written > 1300
    assert [file for file, drawing in found.items() if overlaps(drawing)] == []
    assert max(len(text) for text in sheets("generated 2500").values()) < 200_000


def test_panels_are_cut_at_tasks_and_keep_to_the_room() -> None:
    units = [["a1", "a2"], ["b1"], ["c1", "c2", "c3"]]
    heights = dict.fromkeys(["a1", "a2", "b1", "c1", "c2", "c3"], 100.0)
    before = {"a2": ["a1"], "b1": ["a2"], "c2": ["c1"], "c3": ["c2"]}
    room = Room(500, 300)
    panels = cut(units, heights, lambda key: before.get(key, []), room)
    assert [key for panel in panels for key in panel] == [key for unit in units for key in unit]
    assert panels[0] == ["a1", "a2"]  # with b1 it would be three below one another
    many = [f"k{number}" for number in range(95)]
    low = cut([many], dict.fromkeys(many, 1.0), lambda key: [], Room(1e6, 1e6))
    assert [len(panel) for panel in low] == [40, 40, 15]
    assert halves(["a1", "a2", "b1"], units) == [["a1", "a2"], ["b1"]]
    assert halves(["c1", "c2", "c3"], units) == [["c1"], ["c2", "c3"]]


def test_panels_go_beside_one_another_then_below_then_on_the_next_sheet() -> None:
    room = Room(100, 100)
    spots = pack([(40, 30), (30, 40), (60, 35), (10, 10), (90, 90)], [1] * 5, room)
    assert [[(spot.panel, spot.x, spot.y) for spot in sheet] for sheet in spots] == [
        [(0, 0, 0), (1, 62, 0), (2, 0, 62), (3, 82, 62)],
        [(4, 0, 0)],
    ]
    assert len(pack([(1, 1), (1, 1)], [30, 11], room)) == 2


def test_of_too_many_stubs_the_last_says_how_many_are_left() -> None:
    rows = [Row("in", f"n{number}", "from", (f"k{number}",)) for number in range(MOST_STUBS + 7)]
    kept = stubs(rows)
    assert len(kept) == MOST_STUBS
    assert kept[-1].text == "8 more"
    assert stubs(rows[:MOST_STUBS]) == rows[:MOST_STUBS]
