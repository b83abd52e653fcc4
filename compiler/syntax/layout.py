"""Physical lines to statements: indentation, comments, and lines that continue the one above."""

from __future__ import annotations

import re
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.source.files import SourceFile
from jackstay.source.spans import Span

MAX_LINE = 4000
MAX_DEPTH = 24
_TAB = 8
_MOST_REPORTS = 50  # of one sort in one file; what is beyond is unread all the same
_MOST_LINES = 500  # that one statement may run over
_new: Any = tuple.__new__
_CONTINUES = re.compile(r"(?:and|or|then)(?![\w\-])")


class Logical(NamedTuple):
    """A statement's text. line: of its first line, from 1. column: where its first word stands. depth: 0 at the left
    edge, at most one more than that of the statement above. text: its lines, whole but for comments and trailing
    blanks, joined by line breaks; "" for a line that is not to be read (its finding has been made)."""

    line: int
    column: int
    depth: int
    text: str


class Layout(NamedTuple):
    statements: list[Logical]
    comments: dict[int, str]
    problems: list[Problem]


def lay_out(source: SourceFile, first: int = 1) -> Layout:
    """first: the number of its first line.

    Problems: ``tab-indent`` (facts lines), ``odd-indent`` (facts reason, indents), ``line-too-long`` (length, cap),
    ``too-deep`` (cap)."""
    statements: list[Logical] = []
    comments: dict[int, str] = {}
    problems: list[Problem] = []
    path = source.path
    widths: list[int] = []  # indentations of the open levels
    tabbed = long = 0
    first_tab = Span(path, 0, 0, 0)
    deep = False
    for number, text in enumerate(source.lines, first):
        column = len(text) - len(text.lstrip(" \t"))
        size = len(text)
        if column == size:
            continue
        too_long = size > MAX_LINE
        if not too_long and "#" in text and (text[column] == "#" or (hash_at := _comment(text)) >= 0):
            if text[column] == "#":
                comments[number] = text[column + 1 :].rstrip(" \t")
                continue
            comments[number] = text[hash_at + 1 :].rstrip(" \t")
            text = text[:hash_at]
        text = text.rstrip(" \t")
        width = column
        if "\t" in text and "\t" in text[:column]:
            width = _width(text[:column])
            tabbed += 1
            if tabbed == 1:
                first_tab = Span(path, number, 0, column)
        if (
            text[column] in "aot" and not too_long and statements and width > widths[-1]
            and _CONTINUES.match(text, column) and not deep
        ):  # fmt: skip
            above = statements[-1]
            whole = len(above.text) + len(text)
            if not above.text:
                continue  # it goes on with what is not to be read
            if whole > MAX_LINE or number - above.line >= _MOST_LINES:
                facts = {"length": whole, "cap": MAX_LINE}
                problems.append(Problem("line-too-long", Span(path, number, column, len(text)), facts))
                statements[-1] = above._replace(text="")
                continue
            # Lines in between that hold nothing keep their place, so that `At.down` counts physical lines.
            gap = number - above.line - above.text.count("\n")
            statements[-1] = above._replace(text=above.text + "\n" * gap + text)
            continue
        if not widths or width > widths[-1]:
            if len(widths) > MAX_DEPTH:
                if not deep:
                    deep = True
                    problems.append(Problem("too-deep", Span(path, number, column, len(text)), {"cap": MAX_DEPTH}))
                continue
            if not widths and width:
                problems.append(_odd(path, number, column, "first-line", [0]))
            widths.append(width)
        elif width < widths[-1]:
            levels = list(widths)
            while len(widths) > 1 and widths[-2] >= width:
                widths.pop()
            if len(widths) > 1 and widths[-1] > width:
                # Between two levels: taken as a new width of the deeper one.
                problems.append(_odd(path, number, column, "matches-nothing", levels))
                widths[-1] = width
            elif widths[-1] > width:
                widths[-1] = width  # the first line of all was indented
        deep = False
        if too_long:
            long += 1
            if long <= _MOST_REPORTS:
                facts = {"length": len(text), "cap": MAX_LINE}
                problems.append(Problem("line-too-long", Span(path, number, min(column, MAX_LINE), MAX_LINE), facts))
            text = ""
        statements.append(_new(Logical, (number, column, len(widths) - 1, text)))
    if tabbed:
        problems.append(Problem("tab-indent", first_tab, {"lines": tabbed}))
    return Layout(statements, comments, problems)


def _comment(text: str) -> int:
    """Column of the ``#`` that starts a comment, or -1."""
    start = text.find("#")
    while start >= 0:
        if text.count('"', 0, start) % 2 == 0:
            return start
        quote = text.find('"', start)  # inside a quoted text: go on behind it
        if quote < 0:
            return -1
        start = text.find("#", quote)
    return -1


def _width(indent: str) -> int:
    width = 0
    for sign in indent:
        width = (width // _TAB + 1) * _TAB if sign == "\t" else width + 1
    return width


def _odd(path: str, line: int, column: int, reason: str, levels: list[int]) -> Problem:
    return Problem("odd-indent", Span(path, line, 0, column), {"reason": reason, "indents": levels})
