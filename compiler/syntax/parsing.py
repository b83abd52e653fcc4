"""A source file as a tree of statements, with everything that is wrong with its form.

`parse` never raises. Each statement stands alone: a mistake in one costs that one, and what is indented under it is
read as far as its context can be told."""

from __future__ import annotations

import re
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.source.files import SourceFile
from jackstay.source.spans import Span
from jackstay.syntax import (
    build_declarations,
    build_forms,
    build_hazards,
    build_plans,
    build_times,
    build_values,
    trouble,
)
from jackstay.syntax.build_values import Reject
from jackstay.syntax.contexts import START, WITH_SLOTS, context_below, form_name, guessed_below
from jackstay.syntax.layout import Logical, lay_out
from jackstay.syntax.machine import Machine, Stuck
from jackstay.syntax.salvage import heading
from jackstay.syntax.tables import STARTS, load_table
from jackstay.syntax.tokens import RESERVED, tokenise
from jackstay.syntax.tree import At, Bound, Bracket, File, Name, Node, Phrase, PhraseWord, Statement, Unreadable

_MOST_KEPT = 200_000  # statements of which the nodes are kept for the next parse

# Most lines of a plan: words, a bracket, then marks waited for or said. A line is read at once when its words and its
# bracket have been read before (by the table), since only its marks are new; where only the words are, they are read
# by themselves.
_COMMON = re.compile(
    r"([ \t]*[a-z](?:[^\[\",\n]*[^\[\",\n \t])?)([ \t]*\[[^\]\"\n]*\])?"
    + r"(?:[ \t]*,[ \t]*(says|on)[ \t]+([a-z][a-z0-9]*(?:[.\-][a-z][a-z0-9]*)*))?" * 2
    + r"\Z"
)
_SHORT = 120  # no name or formula of so short a line can be too large
_COMMON_IN = frozenset(("task_body", "block"))
_new: Any = tuple.__new__

_machine: Machine | None = None
# context -> text of a statement, indentation included -> its node, and the context of what is indented under it.
_kept: dict[str, dict[str, tuple[Node, str]]] = {context: {} for context in (*STARTS, *START)}
_words: dict[str, dict[str, tuple[PhraseWord, ...]]] = {context: {} for context in _COMMON_IN}
_brackets: dict[tuple[str, int], Bracket] = {}  # by text and column


def machine() -> Machine:
    """The parser's machine, made on first use."""
    global _machine
    if _machine is None:
        builders = {
            name: value
            for module in (build_values, build_declarations, build_plans, build_times, build_forms, build_hazards)
            for name, value in vars(module).items()
            if callable(value)
        }
        _machine = Machine(load_table(), builders)
    return _machine


def forget() -> None:
    """Drop all nodes that are kept for equal lines."""
    memories: list[dict[Any, Any]] = [*_kept.values(), *_words.values(), _brackets]
    for memory in memories:
        memory.clear()


def parse(source: SourceFile, first: int = 1) -> tuple[File, list[Problem]]:
    """The tree of a file and its problems, in the order of their places. first: the number of its first line.

    Problems: those of `layout.lay_out`, and ``unreadable-line`` (facts found, expected, hint), ``misplaced-line``
    (form, belongs_under), ``bad-name`` (name, suggestion), ``name-too-long`` (name, length, cap), ``odd-indent``
    (reason ``nothing-below``, form)."""
    return _parse(source, first)


class _Level:
    """Where statements of one depth go. children: the list that takes them. context: how they are parsed; None: not at
    all. leaf: the statement above that may have nothing under it, until that is reported."""

    __slots__ = ("children", "context", "leaf")

    def __init__(self, children: list[Statement], context: str | None, leaf: Statement | None = None) -> None:
        self.children = children
        self.context = context
        self.leaf = leaf


def _parse(source: SourceFile, first: int) -> tuple[File, list[Problem]]:
    statements, comments, problems = lay_out(source, first)
    path = source.path
    file = File(path, [], comments)
    levels = [_Level(file.statements, "top")]
    for logical in statements:
        line, column, depth, text = logical
        del levels[depth + 1 :]
        level = levels[depth]
        context = level.context
        if level.leaf is not None:
            facts = {"reason": "nothing-below", "form": form_name(level.leaf.node)}
            problems.append(Problem("odd-indent", Span(path, line, 0, column), facts))
            level.leaf = None
        end = text.find("\n")
        if end < 0:
            end = len(text)
        children: list[Statement] = []
        if context is None or not text:
            statement = Statement(line, column, max(end, column), Unreadable(text), children)
            levels.append(_Level(children, None))
        else:
            node, below = _kept[context].get(text) or _read(path, context, logical, problems)
            statement = _new(Statement, (line, column, end, node, children))
            if below:
                levels.append(_Level(children, below))
            elif type(node) is Unreadable:
                levels.append(_Level(children, None))
            else:  # what is indented under a leaf is read as if it stood beside it
                levels.append(_Level(level.children, context, statement))
        level.children.append(statement)
    if problems:
        problems.sort(key=lambda problem: (problem.at, problem.rule))
    return file, problems


def _read(path: str, context: str, logical: Logical, problems: list[Problem]) -> tuple[Node, str]:
    """Parse one statement; keep it for equal ones when nothing is wrong with it."""
    text = logical.text
    common = _COMMON.match(text) if context in _COMMON_IN and len(text) <= _SHORT else None
    if common is not None:
        phrase = _common(context, common)
        if phrase is not None:
            return _keep(context, text, phrase)
    tokens = tokenise(text, context == "excursion", context in WITH_SLOTS)
    start = START.get(context, context)
    if len(text) <= _SHORT or not trouble.too_large(tokens):
        try:
            node: Node = machine().run(start, tokens)
            if common is not None:
                _learn(context, common, node)
            return _keep(context, text, node)
        except (Stuck, Reject):
            pass
    place = trouble.Place(path, logical.line, logical.column, text)
    repaired = trouble.examine(machine(), context, tokens, place, problems)
    if repaired is not None:
        return repaired, context_below(context, repaired)
    salvaged = heading(text) if context in ("top", "excursion") else None
    if salvaged is not None:
        return salvaged, context_below(context, salvaged)
    return Unreadable(text.strip()), guessed_below(context, text)


def _keep(context: str, text: str, node: Node) -> tuple[Node, str]:
    kept = _kept[context]
    if len(kept) > _MOST_KEPT:
        kept.clear()
    found = kept[text] = (node, context_below(context, node))
    return found


def _common(context: str, match: re.Match[str]) -> Phrase | None:
    """The node of a common line, if its bracket is known; equal words are one tuple."""
    head, timed, first, first_mark, second, second_mark = match.groups()
    spans = match.regs
    bracket = None
    if timed is not None:
        bracket = _brackets.get((timed, spans[2][0]))
        if bracket is None:
            return None
    words = _words[context].get(head)
    if words is None and (timed is not None or first is not None):
        words = _by_themselves(context, head)
    if words is None:
        return None
    if first is None or first_mark in RESERVED or second_mark in RESERVED:
        return Phrase(words, bracket, ()) if first is None else None
    bounds: tuple[Bound, ...] = (_bound(first, first_mark, spans[3][0], spans[4]),)
    if second is not None:
        bounds += (_bound(second, second_mark, spans[5][0], spans[6]),)
    return _new(Phrase, (words, bracket, bounds))  # type: ignore[no-any-return]


def _by_themselves(context: str, head: str) -> tuple[PhraseWord, ...] | None:
    """The words of a phrase, kept. None: they are no phrase."""
    try:
        node = machine().run(START.get(context, context), tokenise(head, context == "excursion", context in WITH_SLOTS))
    except (Stuck, Reject):
        return None
    if not isinstance(node, Phrase):
        return None
    known = _words[context]
    if len(known) > _MOST_KEPT:
        known.clear()
    known[head] = node.words
    return node.words


def _bound(sort: str, mark: str, start: int, span: tuple[int, int]) -> Bound:
    name = _new(Name, (mark, _new(At, (0, *span))))
    return _new(Bound, (sort, (name,), (), _new(At, (0, start, span[1]))))  # type: ignore[no-any-return]


def _learn(context: str, match: re.Match[str], node: Node) -> None:
    """Keep the words and the bracket of a line for lines that begin alike: what follows does not alter them."""
    if not isinstance(node, Phrase):
        return
    words, brackets = _words[context], _brackets
    if len(words) > _MOST_KEPT or len(brackets) > _MOST_KEPT:
        words.clear()
        brackets.clear()
    words.setdefault(match[1], node.words)
    if node.bracket is not None:
        brackets.setdefault((match[2], match.start(2)), node.bracket)
