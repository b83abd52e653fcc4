"""Builders of hazards, of what spreads by touch, and of lists of words."""

from __future__ import annotations

from jackstay.syntax import tree
from jackstay.syntax.tree import Literal, Name, Ref, Text


def hazard_decl(name: Name, title: Text | None) -> tree.Hazard:
    return tree.Hazard(name, title)


def exposes(literals: tuple[Literal, ...], meanwhile: tuple[Literal, ...] | None) -> tree.Exposes:
    return tree.Exposes(literals, meanwhile or ())


def unless(literals: tuple[Literal, ...]) -> tree.Unless:
    return tree.Unless(literals, None)


def unless_warned(who: Ref) -> tree.Unless:
    return tree.Unless((), who)


def spread_decl(name: Name, title: Text | None) -> tree.Spread:
    return tree.Spread(name, title)


def when(literals: tuple[Literal, ...]) -> tree.When:
    return tree.When(literals)


def words_decl(name: Name) -> tree.Words:
    return tree.Words(name)


def words_listed(*texts: Text) -> tree.WordLine:
    return tree.WordLine(False, texts, ())


def words_dropped(_: Name, *texts: Text) -> tree.WordLine:
    return tree.WordLine(True, texts, ())


def words_instead(text: Text, _: Name, *others: Text) -> tree.WordLine:
    return tree.WordLine(False, (text,), others)
