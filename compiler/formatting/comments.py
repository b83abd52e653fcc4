"""Where comments and empty lines go: those between statements, and those within one that runs over several lines."""

from __future__ import annotations

from typing import NamedTuple

from jackstay.formatting.filling import FURTHER, indent
from jackstay.formatting.meaning import Placed
from jackstay.source.files import SourceFile

_TAB = 8


class Margin(NamedTuple):
    """A comment with a line to itself. line: from 1."""

    line: int
    text: str  # with its sign


def column(line: str) -> int:
    """How far a line is indented, a tab going on to the next multiple of eight."""
    return len(line[: len(line) - len(line.lstrip(" \t"))].expandtabs(_TAB))


def is_margin(source: SourceFile, line: int) -> bool:
    """Whether the comment of this line has the line to itself."""
    return source.lines[line - 1].lstrip(" \t").startswith("#")


class Levels:
    """The columns of the statements that are open, to tell what a comment between two of them belongs to."""

    def __init__(self, source: SourceFile) -> None:
        self._source = source
        self._columns: list[int] = []
        self._may_go_deeper = False

    def enter(self, placed: Placed) -> None:
        """Go past a statement."""
        del self._columns[placed.depth :]
        self._columns.append(column(self._source.lines[placed.statement.line - 1]))
        self._may_go_deeper = placed.heads

    def depths(self, comments: list[Margin], following: int) -> list[int]:
        """The depth of each comment between the statement gone past and one of the depth ``following`` (0 at the end).

        It is that of the statement that it is lined up with, if that is still open; never less than that of what
        follows, and never more than that of the comment before."""
        deepest = max(following, len(self._columns) - 1 + self._may_go_deeper)
        found: list[int] = []
        for comment in comments:
            own = column(self._source.lines[comment.line - 1])
            depth = following
            for level in range(following, deepest + 1):
                if level < len(self._columns):
                    fits = self._columns[level] <= own
                else:
                    fits = bool(self._columns) and self._columns[-1] < own
                depth = level if fits else depth
            found.append(depth)
            deepest = depth
        return found


def within(
    source: SourceFile, comments: dict[int, str], first: int, downs: list[int], depth: int
) -> tuple[dict[int, list[str]], set[int]]:
    """The comments inside a statement that begins on line ``first`` and has words on the lines ``downs`` below it.

    Returns, for each of these lines, the comments that follow its last word up to the next of them, as lines to write
    (the first one may be ``""`` or stand behind the line), and the lines before which the text must go to a new one."""
    after: dict[int, list[str]] = {}
    kept: set[int] = set()
    for number, down in enumerate(downs):
        end = downs[number + 1] if number + 1 < len(downs) else down + 1
        behind = comments.get(first + down)
        rows = ["" if behind is None else f"  #{behind}"]
        pad = indent(depth) + " " * FURTHER
        rows += [f"{pad}#{comments[row]}" for row in range(first + down + 1, first + end) if row in comments]
        after[down] = rows
        if number + 1 < len(downs) and (rows[0] or len(rows) > 1):
            kept.add(end)
    return after, kept
