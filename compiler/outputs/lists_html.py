"""The lists as a page, and as data for paper."""

from __future__ import annotations

from html import escape

from jackstay.outputs.deck_html import whole
from jackstay.outputs.deck_records import Card, Deck, Part, Row
from jackstay.outputs.frame import Frame
from jackstay.outputs.lists import Chapter, Item, Section, about
from jackstay.outputs.words import PLAIN, Said

HEADING = "Lists"


def list_page(made: list[Chapter], frame: Frame) -> str:
    """pack.html"""
    body: list[str] = []
    for chapter in made:
        id = f"part-{chapter.number}"
        body.append(f'<section class="part" aria-labelledby="{id}"><h2 id="{id}">{escape(chapter.title)}</h2>')
        place = f"{frame.said.heading} {chapter.number} of {chapter.of} · {chapter.name} · {chapter.source}"
        body.append(f'<p class="plan">{escape(place)}</p><p>{escape(chapter.time)}</p>')
        if chapter.lost:
            body.append(f'<p class="loud">{escape(chapter.lost)}</p>')
        for at, section in enumerate(chapter.sections):
            body += _section(section, f"s{chapter.number}-{at}")
        body.append("</section>")
    return whole(HEADING, HEADING, f'<p class="how">{escape(about(frame.said))}</p>', body, frame)


def _section(section: Section, id: str) -> list[str]:
    lines = [f'<section class="card" aria-labelledby="{id}"><h3 id="{id}"><b>{escape(section.title)}</b></h3>']
    lines.append('<ul class="list">' if section.items else "<p>nothing</p>")
    lines += [_item(item, f"{id}-{at}") for at, item in enumerate(section.items)]
    lines.append("</ul>" if section.items else "")
    if section.note:
        lines.append(f'<p class="{"loud" if section.loud else "note-below"}">{escape(section.note)}</p>')
    return [*lines, "</section>"]


def _item(item: Item, id: str) -> str:
    at = f' <span class="at">{escape(item.source)}</span>' if item.source else ""
    words = escape(item.text)
    if item.box:
        words = f'<input type="checkbox" id="{id}"> <label for="{id}">{words}</label>'
    return f'<li class="deep{min(item.depth, 3)}">{words}{at}</li>'


def on_paper(made: list[Chapter], words: Said = PLAIN) -> tuple[Deck, str, str]:
    """The same model as a checklist's, each section a card: deck, heading, how to read it."""
    parts = tuple(
        Part(
            one.number,
            one.of,
            one.title,
            one.name,
            one.time,
            "",
            one.source,
            tuple(_card(section, f"{one.number}-{at}") for at, section in enumerate(one.sections, start=1)),
            lost=one.lost,
        )
        for one in made
    )
    return Deck("pack", HEADING, "", "", "", parts), HEADING, about(words)


def _card(section: Section, number: str) -> Card:
    rows = tuple(
        Row("item", item.text, number="box" if item.box else "", lasts=str(item.depth), source=item.source)
        for item in section.items
    )
    return Card(number, "list", section.title, rows=rows, then=section.note)
