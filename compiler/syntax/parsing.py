"""A source file as a tree of statements, with everything that is wrong with its form.

`parse` never raises. Each statement stands alone: a mistake in one costs that one, and what is indented under it is
read as far as its context can be told."""

from __future__ import annotations

import gc

from jackstay.diagnostics.records import Problem
from jackstay.source.files import SourceFile
from jackstay.source.spans import Span
from jackstay.syntax import build_declarations, build_plans, build_values, trouble
from jackstay.syntax.build_values import Reject
from jackstay.syntax.contexts import START, WITH_SLOTS, context_below, form_name, guessed_below
from jackstay.syntax.layout import Logical, lay_out
from jackstay.syntax.machine import Machine, Stuck
from jackstay.syntax.tables import STARTS, load_table
from jackstay.syntax.tokens import tokenise
from jackstay.syntax.tree import File, Node, Statement, Unreadable

_MOST_KEPT = 200_000  # statements of which the nodes are kept for the next parse

_machine: Machine | None = None
# context -> text of a statement, indentation included -> its node, and the context of what is indented under it.
_kept: dict[str, dict[str, tuple[Node, str]]] = {context: {} for context in (*STARTS, *START)}


def machine() -> Machine:
    """The parser's machine, made on first use."""
    global _machine
    if _machine is None:
        builders = {
            name: value
            for module in (build_values, build_declarations, build_plans)
            for name, value in vars(module).items()
            if callable(value)
        }
        _machine = Machine(load_table(), builders)
    return _machine


def forget() -> None:
    """Drop all nodes that are kept for equal lines."""
    for kept in _kept.values():
        kept.clear()


def parse(source: SourceFile) -> tuple[File, list[Problem]]:
    """The tree of a file and its problems, in the order of their places.

    Problems: those of `layout.lay_out`, and ``unreadable-line`` (facts found, expected, hint), ``misplaced-line``
    (form, belongs_under), ``bad-name`` (name, suggestion), ``name-too-long`` (name, length, cap), ``odd-indent``
    (reason ``nothing-below``, form)."""
    before = gc.get_threshold()
    gc.set_threshold(max(before[0], 100_000), 50, 100)  # nodes are many, and none of them is garbage
    try:
        return _parse(source)
    finally:
        gc.set_threshold(*before)


class _Level:
    """Where statements of one depth go. children: the list that takes them. context: how they are parsed; None: not at
    all. leaf: the statement above that may have nothing under it, until that is reported."""

    __slots__ = ("children", "context", "leaf")

    def __init__(self, children: list[Statement], context: str | None, leaf: Statement | None = None) -> None:
        self.children = children
        self.context = context
        self.leaf = leaf


def _parse(source: SourceFile) -> tuple[File, list[Problem]]:
    statements, comments, problems = lay_out(source)
    file = File(source.path, [], comments)
    levels = [_Level(file.statements, "top")]
    for logical in statements:
        line, column, depth, text = logical
        del levels[depth + 1 :]
        level = levels[depth]
        context = level.context
        if level.leaf is not None:
            facts = {"reason": "nothing-below", "form": form_name(level.leaf.node)}
            problems.append(Problem("odd-indent", Span(source.path, line, 0, column), facts))
            level.leaf = None
        end = text.find("\n")
        if end < 0:
            end = len(text)
        if context is None or not text:
            statement = Statement(line, column, max(end, column), Unreadable(text), [])
            levels.append(_Level(statement.children, None))
        else:
            found = _kept[context].get(text)
            if found is None:
                found = _read(source.path, context, logical, problems)
            node, below = found
            statement = Statement(line, column, end, node, [])
            if below:
                levels.append(_Level(statement.children, below))
            elif type(node) is Unreadable:
                levels.append(_Level(statement.children, None))
            else:  # what is indented under a leaf is read as if it stood beside it
                levels.append(_Level(level.children, context, statement))
        level.children.append(statement)
    if problems:
        problems.sort(key=lambda problem: (problem.at, problem.rule))
    return file, problems


def _read(path: str, context: str, logical: Logical, problems: list[Problem]) -> tuple[Node, str]:
    """Parse one statement; keep it for equal ones when nothing is wrong with it."""
    text = logical.text
    tokens = tokenise(text, context == "excursion", context in WITH_SLOTS)
    start = START.get(context, context)
    if len(text) <= 120 or not trouble.too_large(tokens):
        try:
            node: Node = machine().run(start, tokens)
            kept = _kept[context]
            if len(kept) > _MOST_KEPT:
                kept.clear()
            found = kept[text] = (node, context_below(context, node))
            return found
        except (Stuck, Reject):
            pass
    place = trouble.Place(path, logical.line, logical.column, text)
    repaired = trouble.examine(machine(), context, tokens, place, problems)
    if repaired is not None:
        return repaired, context_below(context, repaired)
    return Unreadable(text.strip()), guessed_below(context, text)

