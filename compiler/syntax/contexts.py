"""What may be indented under what: the contexts in which statements are parsed, and what they are called."""

from __future__ import annotations

import re

from jackstay.syntax import tree

# Contexts are the grammar's start symbols, and one more: a block of a routine, where slots may stand for names.
START = {"routine_block": "block"}
WITH_SLOTS = frozenset(
    ("top", "action_body", "rule_body", "routine_body",
     "routine_block", "kind", "heading_body", "hazard_body", "spread_body")
)  # fmt: skip
WITH_PHRASES = frozenset(("routine_body", "task_body", "block", "routine_block"))

# How a context is named in findings.
SHOWN = {
    "top": "top", "campaign": "campaign", "area": "location", "decl": "declaration", "kind": "kind", "table": "table",
    "hazard_body": "hazard", "spread_body": "spread", "words_body": "words",
    "form_body": "form", "heading_body": "heading", "fill_body": "fills",
    "action_body": "action", "rule_body": "rule", "routine_body": "routine", "routine_block": "block",
    "excursion": "excursion", "task_body": "task", "block": "block", "step": "step",
}  # fmt: skip

_BELOW: dict[type, str] = {
    tree.Campaign: "campaign", tree.Kind: "kind", tree.Table: "table", tree.Action: "action_body",
    tree.Routine: "routine_body", tree.Rule: "rule_body", tree.Excursion: "excursion", tree.Task: "task_body",
    tree.Fallback: "task_body", tree.Path: "decl", tree.Let: "decl", tree.Dimension: "decl", tree.UnitDecl: "decl",
    tree.EffortDecl: "decl", tree.BodyDecl: "decl", tree.Hole: "", tree.Form: "form_body",
    tree.Heading: "heading_body", tree.Fills: "fill_body", tree.WordDecl: "decl",
    tree.Hazard: "hazard_body", tree.Spread: "spread_body", tree.Words: "words_body",
}  # fmt: skip
_BELOW_PHRASE = {"task_body": "block", "routine_body": "routine_block", "block": "step", "routine_block": "step"}

# Where a broken statement's children belong, by its first word.
_BELOW_WORD = {
    "campaign": "campaign", "kind": "kind", "table": "table", "action": "action_body", "routine": "routine_body",
    "rule": "rule_body", "excursion": "excursion", "task": "task_body", "fallback": "task_body", "item": "decl",
    "actor": "decl", "path": "decl", "let": "decl", "unit": "decl", "dimension": "decl",
    "effort": "decl", "body": "decl", "form": "form_body", "heading": "heading_body", "fills": "fill_body",
    "hazard": "hazard_body", "spread": "spread_body", "words": "words_body",
}  # fmt: skip
_FIRST = re.compile(r"\s*([^\W\d][\w\-]*)")


def context_below(context: str, node: tree.Node) -> str:
    """The context of what is indented under a statement; "" when nothing may be."""
    if isinstance(node, tree.Phrase):
        return _BELOW_PHRASE.get(context, "")
    if isinstance(node, tree.Thing):
        return "area" if node.kind is None else "decl"
    return _BELOW.get(type(node), "")


def guessed_below(context: str, text: str) -> str:
    """The context of what is indented under a statement that could not be read; "" when that cannot be told."""
    match = _FIRST.match(text)
    word = match[1] if match else ""
    if context in ("top", "excursion"):
        if word == "location":
            return "decl" if ":" in text else "area"
        if word in _BELOW_WORD:
            return _BELOW_WORD[word]
        close = closest(word, [*_BELOW_WORD, "location"])
        return "" if not close else "area" if close == "location" else _BELOW_WORD[close]
    if word in ("warning", "caution", "note", "because", "if", "allow", "done"):
        return ""
    return _BELOW_PHRASE.get(context, "")


def closest(word: str, known: list[str]) -> str:
    """The known word that this one may be a slip of, or ""."""
    from difflib import get_close_matches  # only mistakes pay for it

    return next(iter(get_close_matches(word[:40], known, 1, 0.75)), "") if len(word) > 2 else ""


def form_name(node: tree.Node) -> str:
    """A form as findings call it: ``unit``, ``done when``, ``step``."""
    if isinstance(node, tree.Phrase):
        return "step"
    if isinstance(node, tree.Remark):
        return node.sort
    if isinstance(node, tree.Flag):
        return node.name.text
    if isinstance(node, tree.Thing):
        return node.sort or "place"
    name = type(node).__name__.removesuffix("Decl")
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", name).lower()
