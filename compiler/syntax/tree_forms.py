"""The tree's forms that say where a figure comes from, and what a printed sheet is made of."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jackstay.source.record import Record
from jackstay.syntax.values import Name, Text

if TYPE_CHECKING:
    from jackstay.syntax.tree import Literal


class Origin(Record):
    """``source "TEXT"``: where a figure was read. ``unverified ["TEXT"]``: it was not read there, or nobody knows."""

    verified: bool
    text: Text | None


class Form(Record):
    """``form NAME ["TITLE"] [for KIND]``"""

    name: Name
    title: Text | None
    kind: Name | None


class Heading(Record):
    """``heading NAME ["TITLE"] [, source "TEXT"]``"""

    name: Name
    title: Text | None
    origin: Origin | None


class Lists(Record):
    """``lists WORD [of KIND]``, or ``lists steps that make LITERAL`` (literal set, word None)."""

    word: Name | None
    kind: Name | None
    literal: "Literal | None"


class Blank(Record):
    """``blank "TEXT", "TEXT"``: lines to be written on."""

    texts: tuple[Text, ...]


class Asks(Record):
    """``asks``: the plan has to say it."""


class WordDecl(Record):
    """``word NAME "TEXT"``: what printed outputs call something."""

    name: Name
    text: Text


class Fills(Record):
    """``fills FORM``, in an excursion; what is under it fills headings."""

    form: Name


class Fill(Record):
    """``HEADING "TEXT", "TEXT"``"""

    heading: Name
    texts: tuple[Text, ...]
