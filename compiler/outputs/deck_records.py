"""A checklist as data, before it is text, a page or paper: decks of cards, cards of rows. All words are ready to print.

Renderings add nothing but layout; `deck` and `combined` make these, `checklist`, `deck_html` and `deck_pdf` print them.
"""

from __future__ import annotations

from typing import Any, NamedTuple

WARNINGS = ("warning", "caution", "note")


class Answer(NamedTuple):
    """What to do if a step comes out otherwise. card: the number of the card to go to, empty for going on."""

    outcome: str
    words: str
    card: str


class Row(NamedTuple):
    """sort: ``step`` (has a box and a number), ``way`` (inserted by the compiler), ``other`` (on a card: somebody
    else's step), ``wait``, ``beside``, ``call`` (said without a step), ``task``, ``light``, or a remark: ``warning``,
    ``caution``, ``note``.

    who: who does it, or whom with, as words before the text. call: the words that are said at its end; caller: who says
    them, empty where the reader does. under: what stands below it, (head, words). marks: the letters of its cast.
    source: the line of the plan it comes from. step: its name in ``plan.json``."""

    sort: str
    text: str
    who: str = ""
    clock: str = ""
    lasts: str = ""
    number: str = ""
    call: str = ""
    caller: str = ""
    expect: str = ""
    tools: str = ""
    under: tuple[tuple[str, str], ...] = ()
    answers: tuple[Answer, ...] = ()
    source: str = ""
    step: str = ""
    marks: tuple[str, ...] = ()


class Card(NamedTuple):
    """One visit to a worksite, or a card that is only used when it is called.

    number: ``1-7`` of a visit, ``F2`` of a fallback, ``G1`` of a task on a condition. about: sentences under its title.
    arrival, leaving: (how, what) of everything on the actor; leaving has only what is otherwise by then.
    way: rows before the arrival. then: what follows when the card is done."""

    number: str
    sort: str  # visit, fallback, condition
    title: str
    seat: str = ""
    about: tuple[str, ...] = ()
    way: tuple[Row, ...] = ()
    arrival: tuple[tuple[str, str], ...] = ()
    rows: tuple[Row, ...] = ()
    leaving: tuple[tuple[str, str], ...] = ()
    then: str = ""
    source: str = ""
    part: str = ""  # of a card that is only used when called: its excursion


class Part(NamedTuple):
    """One excursion of a deck or of the combined sheet. lost: why there are no cards."""

    number: int
    of: int
    title: str
    name: str
    time: str  # its clock, limit and light
    role: str
    source: str
    cards: tuple[Card, ...] = ()
    rows: tuple[Row, ...] = ()
    lost: str = ""


class Deck(NamedTuple):
    """subject: whose it is, or what. letter, shape: how the actor is marked in every picture."""

    name: str
    subject: str
    runs: str
    letter: str
    shape: str
    parts: tuple[Part, ...]
    aside: tuple[Card, ...] = ()
    crew: tuple[tuple[str, str, str], ...] = ()  # the combined sheet's marks: (letter, shape, name)


def plain(value: Any) -> Any:
    """Records as dictionaries, for JSON."""
    if isinstance(value, tuple) and hasattr(value, "_fields"):
        return {field: plain(one) for field, one in zip(value._fields, value, strict=True)}
    return [plain(one) for one in value] if isinstance(value, tuple | list) else value
