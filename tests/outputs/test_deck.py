"""Decks and the combined sheet: what is on the cards is what the plan says, each step once, in each form."""

from __future__ import annotations

from collections import Counter
from functools import cache
from html.parser import HTMLParser

import pytest
from outputs.plans import frame, plan, views
from outputs.small_plan import Checked, crane, pier

from jackstay.flow.records import Step
from jackstay.model.records import Thing, World
from jackstay.outputs.build import build
from jackstay.outputs.checklist import ALL_TO_READ, HOW_TO_READ, checklist
from jackstay.outputs.combined import combined
from jackstay.outputs.deck import actors_of, deck
from jackstay.outputs.deck_html import page
from jackstay.outputs.deck_records import WARNINGS, Deck, Row
from jackstay.outputs.frame import Frame
from jackstay.outputs.look import step_id
from jackstay.outputs.views import View, is_idle, is_written, views_of
from jackstay.outputs.wording import label, source_place, step_text

PLANS = ("demo", "long names", "generated 250", "pier", "crane")
SMALL = {"pier": pier, "crane": crane}


@cache
def small(name: str) -> Checked:
    return SMALL[name]()


@cache
def seen(name: str) -> tuple[World, tuple[View, ...]]:
    if name in SMALL:
        return small(name).world, tuple(views_of(small(name).flow))
    return plan(name).world, views(name)


@cache
def decks(name: str) -> dict[Thing, Deck]:
    world, found = seen(name)
    return {actor: deck(world, list(found), actor, actor.name) for actor in actors_of(list(found))}


@cache
def everybody(name: str) -> Deck:
    world, found = seen(name)
    return combined(world, list(found))


def rows_of(made: Deck) -> list[Row]:
    return [
        row for part in made.parts for row in (*part.rows, *(r for card in part.cards for r in (*card.way, *card.rows)))
    ]


def steps_of(name: str, actor: Thing | None) -> list[tuple[View, Step]]:
    return [
        (view, step)
        for view in seen(name)[1]
        for step in view.flow.steps
        if not is_idle(step) and (actor is None or actor in step.cast)
    ]


def the_frame(name: str) -> Frame:
    return frame(name) if name not in SMALL else Frame("Small", "0123456789ab", (), False, "No clock is named.")


@pytest.mark.parametrize("name", PLANS)
def test_each_step_of_each_actor_stands_once_in_its_order_with_its_line(name: str) -> None:
    for actor, made in decks(name).items():
        rows = [row for row in rows_of(made) if row.step]
        assert [row.step for row in rows] == [step_id(view, step) for view, step in steps_of(name, actor)]
        for row, (_, step) in zip(rows, steps_of(name, actor), strict=True):
            assert (row.text, row.source) == (step_text(step), source_place(step.entry.at))
            assert (row.sort == "step") == is_written(step) == bool(row.number)


@pytest.mark.parametrize("name", PLANS)
def test_the_combined_sheet_has_each_step_once_below_all_that_it_waits_for(name: str) -> None:
    rows = [row for row in rows_of(everybody(name)) if row.step]
    at = {row.step: number for number, row in enumerate(rows)}
    assert len(at) == len(rows) == len(steps_of(name, None))
    for view, step in steps_of(name, None):
        for before in view.flow.predecessors[step.index]:
            if not is_idle(view.flow.steps[before]):
                assert at[step_id(view, view.flow.steps[before])] < at[step_id(view, step)]
    for row in rows:
        assert row.who and len(row.marks) == len(set(row.marks)) > 0


@pytest.mark.parametrize("name", ["demo", "pier"])
def test_remarks_stand_between_the_step_before_and_their_own(name: str) -> None:
    """Also on the combined sheet and on the cards that are used when called."""
    for made in (*decks(name).values(), everybody(name)):
        lists = [rows_of(made), *(list(card.rows) for card in made.aside)]
        for rows in lists:
            for number, row in enumerate(rows):
                if row.sort in WARNINGS:
                    after = next(one for one in rows[number:] if one.sort in ("step", "way", "other"))
                    assert after.source.rsplit(":", 1)[0] == row.source.rsplit(":", 1)[0]
    told = Counter(row.text for actor, made in decks(name).items() for row in rows_of(made) if row.sort in WARNINGS)
    for view in seen(name)[1]:
        for steps in view.of_entry.values():
            for remark in steps[0].entry.remarks:
                assert told[remark.text] == len({actor for step in steps for actor in step.cast})


def test_a_remark_belongs_to_the_next_step_of_its_own_entry() -> None:
    for actor, made in decks("demo").items():
        remarks = {
            remark.text: source_place(step.entry.at)
            for view, step in steps_of("demo", actor)
            for remark in step.entry.remarks
        }
        rows = rows_of(made)
        for number, row in enumerate(rows):
            if row.sort in WARNINGS:
                after = next(one for one in rows[number:] if one.sort in ("step", "way"))
                assert after.source == remarks[row.text]


def held(view: View, upto: int, actor: Thing, world: World) -> dict[str, set[str]]:
    """What an actor has, by manner, when a step begins: from the start and the changes alone."""
    state = list(view.flow.start)
    for step in view.flow.steps[:upto]:
        for change in step.changes:
            state[change.var] = change.after
    found: dict[str, set[str]] = {}
    for thing in world.things:
        for one in (state[thing.held_var] or ()) if thing.held_var >= 0 else ():
            if one.holder is actor:
                found.setdefault(one.manner, set()).add(label(thing))
    return found


@pytest.mark.parametrize("name", ["demo", "pier", "generated 250"])
def test_the_arrival_says_what_is_on_the_actor_then(name: str) -> None:
    world, found = seen(name)
    checked = 0
    for actor, made in decks(name).items():
        for view, part in zip((v for v in found if actor in v.own), made.parts, strict=True):
            index = {step_id(view, step): step.index for step in view.flow.steps}
            for card in part.cards[:12]:
                first = next((row for row in card.rows if row.step), None)
                if first is None or card.title.startswith("Running"):
                    continue
                truth = held(view, index[first.step], actor, world)
                for how, what in card.arrival:
                    if how == "line":
                        continue
                    for thing in truth.pop(how, set()) or {"nothing"}:
                        assert thing in what, (card.number, how, what)
                    checked += 1
                assert not truth, f"{card.number} does not tell {truth}"
    assert checked


def test_a_card_is_one_visit_and_the_foot_rest_is_told() -> None:
    wren = next(made for actor, made in decks("demo").items() if actor.name == "wren")
    numbers = [card.number for part in wren.parts for card in part.cards]
    assert len(numbers) == len(set(numbers))
    bolts = next(card for card in wren.parts[0].cards if any("heater-box with driver-w" in r.text for r in card.rows))
    assert (bolts.title, bolts.seat) == ("Rack rail", "in Rest3")
    row = next(row for row in bolts.rows if "heater-box with driver-w" in row.text)
    assert row.tools == "Driver w"
    rest = next(card for card in wren.parts[0].cards if any("take rest1" in row.text for row in card.rows))
    assert ("hand", "nothing") in rest.arrival and ("hand", "Rest1") in rest.leaving


def test_readings_bounds_waits_and_calls_are_told() -> None:
    made = {actor.name: made for actor, made in decks("demo").items()}
    rows = rows_of(made["wren"])
    gauge = next(row for row in rows if row.text == "read off deck-gauge")
    assert gauge.expect == "90 kPa to 110 kPa"
    assert [(answer.outcome, answer.card) for answer in gauge.answers] == [("outside", "F1")]
    assert any(("when", "in daylight") in row.under for row in rows)
    assert any(row.sort == "wait" and row.call == "box at deck" and row.text == "for Moss for Heron" for row in rows)
    assert any(row.call == "hatch open" and row.caller == "" for row in rows)
    assert any(row.sort == "task" and row.under[:1] and row.under[0][0] == "may be dropped (get-ahead)" for row in rows)


def test_every_card_that_a_step_may_call_is_in_the_deck() -> None:
    for name in ("demo", "pier"):
        for made in (*decks(name).values(), everybody(name)):
            cards = {card.number for card in made.aside}
            called = {answer.card for row in rows_of(made) for answer in row.answers if answer.card}
            assert called <= cards
        assert any(card.sort == "fallback" for made in decks(name).values() for card in made.aside)


def test_a_card_says_who_does_what_and_boxes_only_what_is_ones_own() -> None:
    for actor, made in decks("demo").items():
        for card in made.aside:
            for row in card.rows:
                if row.sort in ("step", "other"):
                    assert row.who and row.source
                    assert (row.sort == "step") == (label(actor) in row.who)


def test_a_task_on_a_condition_that_holds_is_in_the_list_and_on_no_card() -> None:
    wren = next(made for actor, made in decks("demo").items() if actor.name == "wren")
    assert not [card for card in wren.aside if card.sort == "condition"]
    look = next(row for row in rows_of(wren) if row.sort == "task" and row.text == "Look bus")
    assert ("only if", "first.look is done") in look.under
    assert sum(row.text == "photograph bus-plug with camera-w" for row in rows_of(wren)) == 1


@pytest.mark.parametrize("name", PLANS)
def test_the_text_is_no_wider_than_a_page(name: str) -> None:
    for made in (*decks(name).values(), everybody(name)):
        text = checklist(made, the_frame(name))
        for line in text.splitlines():
            assert len(line) <= 100 or " " not in line.strip() or name == "long names", line
            assert line == line.rstrip()


class Reader(HTMLParser):
    """ids, labels, inputs, steps and the order of remarks; complains of what is not closed."""

    VOID = ("meta", "input", "br", "path")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.ids: list[str] = []
        self.labelled: list[str] = []
        self.inputs: list[str] = []
        self.targets: list[str] = []
        self.steps: list[tuple[str, str]] = []
        self.events: list[tuple[str, str]] = []
        self.boxes = 0
        self.shown: list[str] = []
        self.feed(text)
        assert not self.open, self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        if tag not in self.VOID:
            self.open.append(tag)
        self.ids += [given["id"]] if "id" in given else []
        self.targets += [given["href"]] if "href" in given else []
        assert "src" not in given and tag not in ("script", "link", "img")
        if tag == "label":
            self.labelled.append(given["for"])
        if tag == "input":
            self.inputs.append(given["id"])
            self.boxes += given.get("type") == "checkbox"
        if tag == "li":
            sort = given.get("class", "").split()
            if "data-step" in given:
                self.steps.append((given["data-step"], given["data-place"]))
                self.events.append(("step", given["data-place"]))
            elif sort[:1] == ["remark"]:
                self.events.append(("remark", sort[1]))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in self.VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.shown.append(data)


@pytest.mark.parametrize("name", PLANS)
def test_the_page_has_each_step_once_and_every_field_a_name(name: str) -> None:
    for made in (*decks(name).values(), everybody(name)):
        read = Reader(page(made, "Checklist", HOW_TO_READ if not made.crew else ALL_TO_READ, the_frame(name)))
        rows = [row for row in rows_of(made) if row.step]
        assert read.steps == [(row.step, row.source) for row in rows]
        assert len(read.ids) == len(set(read.ids))
        assert set(read.inputs) == set(read.labelled)
        assert {target[1:] for target in read.targets if target.startswith("#")} <= set(read.ids)
        assert all(target.startswith("#") for target in read.targets)
        every = [*rows_of(made), *(row for card in made.aside for row in card.rows)]
        assert read.boxes == sum(row.sort == "step" for row in every)
        assert len(read.inputs) - read.boxes == sum(bool(row.expect) for row in every)
        remarks = [row.sort for row in every if row.sort in WARNINGS]
        assert [words for what, words in read.events if what == "remark"] == remarks
        text = " ".join("".join(read.shown).split())
        for words in the_frame(name).safety:
            assert words in text
        assert the_frame(name).identity in text


def test_names_are_escaped() -> None:
    teal = next(made for actor, made in decks("long names").items() if actor.name == "teal")
    html = page(teal, "Checklist", HOW_TO_READ, the_frame("long names"))
    assert "<Tray>" not in html and "&lt;Tray&gt;" in html


@pytest.mark.parametrize("name", ["checklist-wren.html", "combined.html", "pack.html", "combined.txt"])
def test_an_unchecked_plan_says_so_loudly(name: str) -> None:
    assert b"UNCHECKED" in build(pier(), unchecked=True)[name]
    assert b"UNCHECKED" not in build(pier())[name]
