"""The tree's forms for hazards, for what spreads by touch, and for lists of words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from jackstay.source.record import Record
from jackstay.syntax.values import Name, Text

if TYPE_CHECKING:
    from jackstay.syntax.tree import Literal, Ref


class Hazard(Record):
    """``hazard NAME ["TITLE"]``"""

    name: Name
    title: Text | None


class Exposes(Record):
    """``exposes CLAUSES [while CLAUSES]``"""

    literals: tuple["Literal", ...]
    meanwhile: tuple["Literal", ...]


class Unless(Record):
    """``unless CLAUSES``, or ``unless WHO warned`` (warned set, no literals)."""

    literals: tuple["Literal", ...]
    warned: "Ref | None"


class Spread(Record):
    """``spread NAME ["TITLE"]``; its effects are a line ``makes``."""

    name: Name
    title: Text | None


class When(Record):
    """``when CLAUSES``"""

    literals: tuple["Literal", ...]


class Words(Record):
    """``words NAME``"""

    name: Name


class WordLine(Record):
    """``"A", "B"`` (listed), ``not "A", "B"`` (dropped), ``"A" not "B", "C"`` (others set: to be written A)."""

    dropped: bool
    texts: tuple[Text, ...]
    others: tuple[Text, ...]
