"""One statement's words, spaced canonically, cut where a line may end.

The words are the statement's own tokens, in their order. Only what stands between them is chosen here, and the
word that a line must begin with where it goes on with the one above (`and`, `or`, `then`)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from typing import Any, NamedTuple

from jackstay.formatting.meaning import Placed
from jackstay.source.record import Record
from jackstay.syntax import tree
from jackstay.syntax.contexts import WITH_SLOTS
from jackstay.syntax.tokens import Token, tokenise
from jackstay.syntax.tree import At, Lookup, UnitTerm

_CONNECT = frozenset(("and", "or", "then"))
# Forms with a colon between two blanks: it parts what is declared from what it is.
_WIDE_COLON = (tree.Thing, tree.Task, tree.Row)
# Forms in which a slash is part of a word: a module's path, one of two words.
_TIGHT_SLASH = (tree.Use, tree.Starts, tree.Action, tree.Routine)
_SIGNS = frozenset((*",:()[]^*/", "%BOUND_COMMA"))  # those that may stand close to what is beside them
_LISTED = (tree.Literal, tree.Effect, tree.Ref)  # of these `, and` says the same as `,`
_BLANKS = re.compile(r"\s+")


class Piece(NamedTuple):
    """Words that stay on one line. joint: what parts it from the piece before on the same line (``", "``). tail and
    head: what ends the line before and begins this one when a line ends between them (``","`` and ``"and "``).
    down: the line of the text that it comes from, counted from the statement's first."""

    text: str
    joint: str
    tail: str
    head: str
    down: int


class _Cut(NamedTuple):
    """A place where a line may end: words first to last (left out) part two pieces; the rest as in `Piece`."""

    first: int
    last: int
    joint: str
    tail: str
    head: str


def pieces(placed: Placed, text: str) -> list[Piece]:
    """The pieces of a statement. ``text`` as in `layout.Logical`: its lines without comments."""
    node = placed.statement.node
    tokens = tokenise(text, placed.context == "excursion", placed.context in WITH_SLOTS)
    lines = text.split("\n")
    words = [_BLANKS.sub(" ", written) if key == "%QUANTITY" else written for key, written in _written(tokens, lines)]
    marked = _marked(node)
    gaps = _gaps(node, tokens, marked)
    found: list[Piece] = []
    start, lead = 0, ("", "", "")
    for cut in (*_cuts(node, tokens, marked.further), None):
        end = len(tokens) if cut is None else cut.first
        body = "".join(" " * (gaps[at] and at > start) + words[at] for at in range(start, end))
        # Where a line goes on, its first word is the one that connects it: that word tells which line it came from.
        down = tokens[start - 1 if lead[0] else start][2].at.down
        found.append(Piece(body, *lead, down))
        if cut is not None:
            start, lead = cut.last, cut[2:]
    return found


def _written(tokens: list[Token], lines: list[str]) -> Iterator[tuple[str, str]]:
    for key, _, leaf in tokens:
        down, start, end = leaf.at
        yield key, lines[down][start:end]


def _is(token: Token, *signs: str) -> bool:
    """Whether a token is one of these signs (and not a quoted text that looks like it)."""
    return token[0] in signs


def _is_comma(token: Token) -> bool:
    return token[0] in (",", "%BOUND_COMMA")


class _Marked(NamedTuple):
    """What the tree knows of a statement's words. tables: where the names of tables stand that are looked up. units:
    units without a number. further: where each literal (or effect) of a list begins, but the first."""

    tables: set[At]
    units: list[At]
    further: set[tuple[int, int]]


def _marked(node: tree.Node) -> _Marked:
    marked = _Marked(set(), [], set())
    if isinstance(node, tree.Phrase):  # most statements are such, with nothing to look for
        for bound in node.bounds:
            if bound.formulas:
                _look(bound, marked)
    else:
        _look(node, marked)
    return marked


def _look(value: Any, marked: _Marked) -> None:
    if isinstance(value, Lookup):
        marked.tables.add(value.table.at)
    if isinstance(value, UnitTerm):
        marked.units.append(value.at)
    elif isinstance(value, tuple):
        if type(value) is tuple and len(value) > 1 and isinstance(value[1], _LISTED):
            marked.further.update(part.at[:2] for part in value[1:])
        for part in value:
            _look(part, marked)
    elif isinstance(value, Record):
        for field in value.__match_args__:
            _look(getattr(value, field), marked)


def _gaps(node: tree.Node, tokens: list[Token], marked: _Marked) -> list[bool]:
    """For each token, whether a blank stands before it."""
    tables = marked.tables
    units = [] if isinstance(node, tree.UnitDecl) else marked.units
    wide = isinstance(node, _WIDE_COLON)
    slash = isinstance(node, _TIGHT_SLASH)

    def binds(token: Token) -> bool:
        """Whether a sign stands close to what is on both sides of it."""
        if _is(token, "^") or (slash and _is(token, "/")):
            return True
        at = token[2].at
        return _is(token, "*", "/") and any(
            unit.down == at.down and unit.start <= at.start < unit.end for unit in units
        )

    gaps = [False]
    for before, token in pairwise(tokens):
        close = (before[0] in _SIGNS or token[0] in _SIGNS) and (
            _is_comma(token)
            or _is(token, ")", "]")
            or _is(before, "(", "[")
            or (_is(token, ":") and not wide)
            or (_is(token, "(") and before[2].at in tables)
            or binds(before)
            or binds(token)
        )
        gaps.append(not close)
    return gaps


def _cuts(node: tree.Node, tokens: list[Token], further: set[tuple[int, int]]) -> Iterator[_Cut]:
    """Where a line may end, in order. A line can only go on with `and`, `or` or `then`. further: as in `_Marked`."""
    thing = isinstance(node, tree.Thing)
    at = 1
    while at < len(tokens):
        word = tokens[at][0]
        after = tokens[at + 1][0] if at + 1 < len(tokens) else ""
        if word == "," and after:
            skipped = after in _CONNECT
            begins = at + 1 + skipped
            if begins < len(tokens) and tokens[begins][2].at[:2] in further:
                if after == "then":
                    yield _Cut(at, begins, ", then ", ",", "then ")
                else:  # `, and` within a line is a comma
                    yield _Cut(at, begins, ", ", ",", "and ")
                at = begins
                continue
        if word == "," and thing and _is_bare(tokens, at + 1):
            yield _Cut(at, at + 1, ", ", "", "and ")
        elif word in _CONNECT:
            blank = " " if after else ""  # a phrase may end with such a word
            yield _Cut(at, at + 1, f" {word}{blank}", "", f"{word}{blank}")
        at += 1


def _is_bare(tokens: list[Token], at: int) -> bool:
    """Whether a clause of a thing is a name and nothing else: one more of the list before it."""
    ends = at + 1 == len(tokens) or _is_comma(tokens[at + 1]) or tokens[at + 1][0] == "and"
    return tokens[at][1] == "%NAME" and ends
