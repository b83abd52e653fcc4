"""What is dangerous, what spreads by touch, and which words mean what in a text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jackstay.source.record import Entity, fresh
from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.model.records import Origin, Slot, Test


class Hazard(Entity):
    """``tests`` (with ``meanwhile``) all true: somebody is exposed, unless every literal of one of ``unless`` is true,
    or whoever stands in a slot of ``warned`` has been warned of it by then."""

    name: str
    title: str
    decl: Span
    tests: tuple[Test, ...] = ()
    meanwhile: tuple[Test, ...] = ()
    unless: tuple[tuple[Test, ...], ...] = ()
    warned: tuple[Slot, ...] = ()
    slots: tuple[Slot, ...] = ()
    origin: Origin | None = None


class Spread(Entity):
    """When a step leaves ``tests`` all true, it makes ``effects`` too: properties of its slots. Working on something
    counts for the step that does."""

    name: str
    title: str
    decl: Span
    tests: tuple[Test, ...]
    effects: tuple[Test, ...]
    slots: tuple[Slot, ...]
    origin: Origin | None = None


class WordList(Entity):
    """entries: a word or phrase in lower case -> where it is declared. instead: what is to be written for it, if the
    list says so."""

    name: str
    entries: dict[str, Span] = fresh(factory=dict)
    instead: dict[str, str] = fresh(factory=dict)
