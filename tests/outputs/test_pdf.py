"""Checklists on paper: the text of each page against the plan, and where it stands."""

from __future__ import annotations

import re
from collections import Counter
from functools import cache

import pypdfium2
import pytest
from outputs.plans import frame, plan, views

from jackstay.model.records import Thing
from jackstay.outputs.checklist import ALL_TO_READ, HOW_TO_READ
from jackstay.outputs.combined import combined
from jackstay.outputs.deck import actors_of, deck
from jackstay.outputs.deck_pdf import PAPERS, sheets
from jackstay.outputs.deck_records import WARNINGS, Deck, Row
from jackstay.outputs.frame import frame_of
from jackstay.outputs.lists import chapters
from jackstay.outputs.lists_html import on_paper

SIZES = {"a4": (595.28, 841.89), "letter": (612, 792), "cuff": (255.12, 566.93)}
POINTS = 72 / 25.4


def bare(text: str) -> str:
    """Without spaces, breaks and invisible signs: lines are broken anywhere on paper. A hyphen at the end of a line is
    read as a sign of its own."""
    return re.sub(r"[\s\u200b\ufffe\u00ad]", "", text.replace("\x02", "-"))


@cache
def actors(name: str) -> tuple[Thing, ...]:
    return tuple(actors_of(list(views(name))))


@cache
def decks(name: str) -> tuple[tuple[Deck, str, str], ...]:
    world, found = plan(name).world, list(views(name))
    return (
        (deck(world, found, actors(name)[0], "x"), f"Checklist: {actors(name)[0].title}", HOW_TO_READ),
        (combined(world, found), "Combined checklist", ALL_TO_READ),
    )


@cache
def printed(name: str, paper: str) -> tuple[bytes, ...]:
    return tuple(sheets(decks(name), frame(name), paper))


@cache
def pages(name: str, paper: str, which: int) -> tuple[str, ...]:
    document = pypdfium2.PdfDocument(printed(name, paper)[which])
    return tuple(one.get_textpage().get_text_bounded() for one in document)


def rows_of(made: Deck) -> list[Row]:
    return [
        row for part in made.parts for row in (*part.rows, *(r for card in part.cards for r in (*card.way, *card.rows)))
    ]


def body(name: str, paper: str, which: int) -> str:
    """All pages without what stands at the head and foot of each, spaces left out."""
    foot = bare(frame(name).safety[0])
    found = []
    for text in pages(name, paper, which):
        head, _, rest = bare(text).partition(frame(name).identity)
        found.append(rest.rpartition(foot)[0] or rest.partition(foot)[0])
        assert head
    return "".join(found)


CASES = [("demo", paper) for paper in PAPERS] + [("generated 250", "a4")]


@pytest.mark.parametrize(("name", "paper"), CASES)
def test_each_step_is_printed_once_in_order_with_its_line(name: str, paper: str) -> None:
    for which in (0, 1):
        text = body(name, paper, which)
        rows = [row for row in rows_of(decks(name)[which][0]) if row.step]
        words = [
            bare(f"{row.clock}{row.number}{''.join(row.marks)}{row.who}{':' if row.who else ''}{row.text}")
            + bare(f"{row.lasts}{row.source}")
            for row in rows
        ]
        at = 0
        for one in words:  # each, after the one before
            found = text.find(one, at)
            assert found >= 0, one
            at = found + len(one)
        for one, times in Counter(words).items():
            assert text.count(one) == sum(count for other, count in Counter(words).items() if one in other) >= times


@pytest.mark.parametrize("which", [0, 1])
def test_the_boxes_are_as_many_as_the_steps_and_big_enough(which: int) -> None:
    made = decks("demo")[which][0]
    every = [*rows_of(made), *(row for card in made.aside for row in card.rows)]
    wanted = sum(row.sort == "step" for row in every)
    for paper, side in (("a4", 6.2), ("cuff", 5.2)):
        found = 0
        for one in pypdfium2.PdfDocument(printed("demo", paper)[which]):
            for thing in one.get_objects():
                if thing.type == 2:  # a path
                    left, low, right, high = thing.get_bounds()
                    found += all(abs(length - side * POINTS) < 1.5 for length in (right - left, high - low))
        assert found == wanted, paper


@pytest.mark.parametrize("paper", PAPERS)
def test_warnings_stand_on_the_page_of_their_step_and_before_it(paper: str) -> None:
    for which in (0, 1):
        rows = rows_of(decks("demo")[which][0])
        texts = [bare(text) for text in pages("demo", paper, which)]
        for number, row in enumerate(rows):
            if row.sort in WARNINGS:
                after = next(one for one in rows[number:] if one.sort in ("step", "way"))
                step = bare(f"{after.text}{after.lasts}{after.source}")
                (here,) = [text for text in texts if bare(row.text) in text]
                assert step in here[here.index(bare(row.text)) :]
                assert row.sort.upper() in here[: here.index(bare(row.text))][-12:]


@pytest.mark.parametrize(("name", "paper"), [*CASES, ("long names", "a4"), ("long names", "cuff")])
def test_every_page_says_which_it_is_of_what_plan_and_the_safety_words(name: str, paper: str) -> None:
    for which in (0, 1):
        texts = pages(name, paper, which)
        for number, text in enumerate(texts, start=1):
            assert f"page {number} of {len(texts)}" in text
            assert frame(name).identity in text
            assert bare(frame(name).safety[0]) in bare(text)
            assert re.search(r"Excursion \d, ", text)
            assert "UNCHECKED" not in text
        last = bare(texts[-1])
        for words in frame(name).safety:
            assert bare(words)[:90] in last or bare(words) in bare("".join(texts))


@pytest.mark.parametrize("paper", PAPERS)
def test_each_page_names_the_excursions_whose_cards_are_on_it(paper: str) -> None:
    made = decks("demo")[0][0]
    for text in pages("demo", paper, 0):
        head = bare(text[: text.index(frame("demo").identity)])
        for part in made.parts:
            for card in part.cards:
                if re.search(rf"(^|\s){card.number} {re.escape(card.title)}", text):
                    assert bare(f"Excursion {part.number}, {part.title}")[:24] in head


@pytest.mark.parametrize("paper", PAPERS)
def test_an_unchecked_plan_says_so_on_every_page(paper: str) -> None:
    loud = frame_of(plan("demo"), unchecked=True)
    (file,) = sheets(decks("demo")[:1], loud, paper)
    for one in pypdfium2.PdfDocument(file):
        assert bare(one.get_textpage().get_text_bounded()).count("UNCHECKED") >= 2


def test_a_step_refers_to_the_page_of_its_card() -> None:
    texts = pages("demo", "a4", 0)
    for text in texts:
        for card, number in re.findall(r"card (F\d+), [\w-]+, page (\d+)", text):
            start = texts[int(number) - 1]
            assert re.search(rf"(^|\s){card} ", start) and "fallback" in start
    assert any("card F1" in text for text in texts)


@pytest.mark.parametrize(("name", "paper"), [("demo", "a4"), ("long names", "cuff"), ("long names", "letter")])
def test_nothing_is_printed_beyond_the_margin_or_over_the_head(name: str, paper: str) -> None:
    width, height = SIZES[paper]
    for file in printed(name, paper):
        for one in pypdfium2.PdfDocument(file):
            assert one.get_size() == pytest.approx((width, height), abs=0.5)
            text = one.get_textpage()
            for at in range(text.count_rects()):
                left, low, right, high = text.get_rect(at)
                assert left >= 8 and right <= width - 8, text.get_text_bounded(left, low, right, high)
                assert low >= 8 and high <= height - 8, text.get_text_bounded(left, low, right, high)


def test_no_heading_stands_alone_at_the_end_of_a_page() -> None:
    """The last thing above the foot is a step, a call, what is left with or the end of a card: no task's title."""
    for paper in PAPERS:
        for which in (0, 1):
            titles = {bare(f"{row.text}{row.source}") for row in rows_of(decks("demo")[which][0]) if row.sort == "task"}
            cards = {bare(f"{c.number}{c.title}") for part in decks("demo")[which][0].parts for c in part.cards}
            for text in pages("demo", paper, which):
                rest = bare(text).rpartition(bare(frame("demo").safety[0])[:40])[0]
                assert not any(rest.endswith(words) for words in titles | cards)


def test_the_same_plan_gives_the_same_bytes() -> None:
    again = sheets(decks("demo"), frame("demo"), "a4")
    assert tuple(again) == printed("demo", "a4")
    assert b"CreationDate" not in printed("demo", "a4")[0] or b"D:1970" in printed("demo", "a4")[0]


def test_the_lists_are_printed_too() -> None:
    made = on_paper(chapters(plan("demo").world, list(views("demo"))))
    (file,) = sheets([made], frame("demo"), "a4")
    texts = [one.get_textpage().get_text_bounded() for one in pypdfium2.PdfDocument(file)]
    whole = bare("".join(texts))
    for part in made[0].parts:
        for card in part.cards:
            for row in card.rows:
                assert bare(row.text) in whole
            assert bare(card.then) in whole
    for number, text in enumerate(texts, start=1):
        assert f"page {number} of {len(texts)}" in text and frame("demo").identity in text
