"""Builders of origins, forms and what fills them."""

from __future__ import annotations

from jackstay.syntax import tree
from jackstay.syntax.tree import Literal, Name, Origin, Text


def origin(word: Name, text: Text | None = None) -> Origin:
    return Origin(word.text == "source", text)


def form_decl(name: Name, title: Text | None, kind: Name | None) -> tree.Form:
    return tree.Form(name, title, kind)


def heading(name: Name, title: Text | None, origin: Origin | None) -> tree.Heading:
    return tree.Heading(name, title, origin)


def lists(word: Name, kind: Name | None) -> tree.Lists:
    return tree.Lists(word, kind, None)


def lists_steps(literal: Literal) -> tree.Lists:
    return tree.Lists(None, None, literal)


def blank(*texts: Text) -> tree.Blank:
    return tree.Blank(texts)


def asks() -> tree.Asks:
    return tree.Asks()


def word_decl(name: Name, text: Text) -> tree.WordDecl:
    return tree.WordDecl(name, text)


def fills(form: Name) -> tree.Fills:
    return tree.Fills(form)


def fill(heading: Name, *texts: Text) -> tree.Fill:
    return tree.Fill(heading, texts)
