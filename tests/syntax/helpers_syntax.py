"""What the tests of this folder share: parsing one line under a given parent."""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.diagnostics.records import Problem
from jackstay.source.files import source_from_text
from jackstay.syntax import tree
from jackstay.syntax.parsing import parse

# A parent for each context, as the lines that open it.
PARENTS = {
    "top": [],
    "campaign": ["campaign c"],
    "area": ["location hub"],
    "decl": ["let x = 1"],
    "kind": ["kind k is item"],
    "table": ["table t by depth in m gives min, round up"],
    "action": ["action take ITEM: item"],
    "rule": ["rule r"],
    "hazard": ["hazard h"],
    "spread": ["spread s"],
    "words": ["words vague"],
    "form": ["form f"],
    "heading": ["form f", "heading h"],
    "fills": ["excursion e", "fills f"],
    "routine": ["routine go out, FIRST: suited"],
    "excursion": ["excursion e"],
    "task": ["excursion e", "task t : required"],
    "block": ["excursion e", "task t : required", "teal"],
    "step": ["excursion e", "task t : required", "teal", "undo bolts of pump"],
    "routine block": ["routine go out, FIRST: suited", "FIRST at lock"],
}


def under(parent: str, line: str) -> tuple[tree.Node, list[Problem]]:
    """The node of a line written under a parent, and what was found."""
    opening = PARENTS[parent]
    text = "".join("  " * depth + head + "\n" for depth, head in enumerate(opening)) + "  " * len(opening) + line
    file, problems = parse(source_from_text("x.stay", text + "\n"))
    statement = file.statements[0]
    for _ in opening:
        statement = statement.children[0]
    return statement.node, problems


def found(text: str) -> list[tuple[str, int, int, int]]:
    """(rule, line, start, end) of all problems of a text."""
    _, problems = parse(source_from_text("x.stay", text))
    return [(problem.rule, problem.at.line, problem.at.start, problem.at.end) for problem in problems]


RARE = {"origin", "aboard", "of", "again"}  # last parts that most lines of their form lack: shown where they are there


def plain(value: object) -> object:
    """A node without places: strings for names and texts, tuples headed by the type's name for the rest."""
    if isinstance(value, tree.Name | tree.Number):
        return value.text
    if isinstance(value, tree.Text):
        return f'"{value.value}"'
    if isinstance(value, tree.UnitTerm):
        return " ".join(f"{unit}^{power}" if power != 1 else unit for unit, power in value.powers)
    if isinstance(value, tree.Quantity):
        return " ".join(f"{number} {plain(unit)}" for number, unit in value.parts)
    if hasattr(value, "_fields"):  # the named tuples of the tree
        return (type(value).__name__, *(plain(getattr(value, name)) for name in _shown(value, value._fields)))
    if hasattr(value, "__match_args__"):
        return (type(value).__name__, *(plain(getattr(value, name)) for name in _shown(value, value.__match_args__)))
    if isinstance(value, tuple):
        return tuple(plain(part) for part in value)
    return value


def _shown(value: object, names: Iterable[str]) -> list[str]:
    shown = [name for name in names if name not in ("at", "until_at")]
    while shown and shown[-1] in RARE and not getattr(value, shown[-1]):
        shown.pop()
    return shown
