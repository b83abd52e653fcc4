"""Records of the world that speak of where figures are from, and of printed sheets."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from jackstay.source.record import Entity
from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.model.records import Kind, Test


class Origin(NamedTuple):
    """Where a figure comes from. what: the figure, in words. text: the source, or why there is none; may be empty.
    verified: whether it was read there."""

    what: str
    text: str
    verified: bool
    decl: Span


class Query(NamedTuple):
    """What a heading of a form lists. word: of the plan's own sorts, or a property; empty: steps, by what they make.
    kind: only of these. test: what the steps make."""

    word: str
    kind: "Kind | None"
    test: "Test | None"
    at: Span


class Heading(Entity):
    """asks: the plan has to say it. blanks: lines to be written on."""

    name: str
    title: str
    origin: Origin | None
    queries: tuple[Query, ...]
    blanks: tuple[str, ...]
    asks: bool
    decl: Span


class Form(Entity):
    """A printed sheet. kind: every excursion with one of the crew of this kind needs it; None: those that fill it."""

    name: str
    title: str
    kind: "Kind | None"
    origin: Origin | None
    headings: dict[str, Heading]
    decl: Span


class Filled(Entity):
    """What an excursion says under the headings of a form: texts and the place of each."""

    form: Form
    at: Span
    texts: dict[str, tuple[tuple[str, ...], Span]]
