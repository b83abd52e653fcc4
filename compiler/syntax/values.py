"""Places, words and values of a statement: what every form of the tree is made of."""

from __future__ import annotations

from typing import NamedTuple


class At(NamedTuple):
    """Where a word stands: lines below the statement's first line, and columns."""

    down: int
    start: int
    end: int


class Name(NamedTuple):
    """A name or a word, as written (``old-pump``, ``first.cassette``, ``ITEM``)."""

    text: str
    at: At


# --- values and formulas -----------------------------------------------------------------------------------------


class Number(NamedTuple):
    text: str  # "18.5": converted exactly, later
    at: At


class UnitTerm(NamedTuple):
    """A product of powers of unit names: ``m/s`` is (("m", 1), ("s", -1))."""

    powers: tuple[tuple[str, int], ...]
    at: At


class Quantity(NamedTuple):
    """``6 h 30 min``: number texts with their units, to be added."""

    parts: tuple[tuple[str, UnitTerm], ...]
    at: At


class Text(NamedTuple):
    value: str
    at: At


class PropertyOf(NamedTuple):
    prop: Name
    of: Name
    at: At


class Binary(NamedTuple):
    op: str  # + - * /
    left: "Formula"
    right: "Formula"
    at: At


class Lookup(NamedTuple):
    table: Name
    argument: "Formula"
    at: At


Formula = Number | Quantity | Name | PropertyOf | Binary | Lookup
