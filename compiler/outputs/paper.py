"""The plain-text page every printed output is laid out on: a head, rows with their source place, a foot.

Nothing here is wider than ``WIDTH``, unless one single word is. The layout's own marks are ASCII.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

WIDTH = 100


def rule(mark: str = "-") -> str:
    return mark * WIDTH


def wrap(text: str, first: str = "", rest: str | None = None, width: int = WIDTH) -> list[str]:
    """The text in lines of at most ``width``; ``first`` begins the first line, ``rest`` each other."""
    rest = " " * len(first) if rest is None else rest
    lines = textwrap.wrap(
        text, width=width, initial_indent=first, subsequent_indent=rest, break_long_words=False, break_on_hyphens=False
    )
    return lines or [first.rstrip()]


def row(text: str, first: str, source: str = "") -> list[str]:
    """A row whose source place stands at the right edge of its first line."""
    if not source:
        return wrap(text, first)
    lines = wrap(text, first, width=WIDTH - len(source) - 2)
    return [f"{lines[0]:<{WIDTH - len(source)}}{source}", *lines[1:]]


def pair(left: str, right: str) -> list[str]:
    """Two texts at the two edges, on one line where they fit."""
    if len(left) + len(right) + 2 <= WIDTH:
        return [f"{left:<{WIDTH - len(right)}}{right}"]
    return [*wrap(left), f"{right:>{WIDTH}}"]


def heading(left: str, right: str = "", mark: str = "-") -> list[str]:
    """``-- left ------ right --``"""
    head = f"{mark * 2} {left} "
    tail = f" {right} {mark * 2}" if right else mark * 2
    if len(head) + len(tail) > WIDTH:
        return [*wrap(left, f"{mark * 2} "), *([f"{tail.strip():>{WIDTH}}"] if right else [])]
    return [head + mark * (WIDTH - len(head) - len(tail)) + tail]


def columns(table: list[list[str]], numbers: Iterable[int] = ()) -> list[str]:
    """A table whose first row is its head; the columns whose numbers are given stand to the right."""
    right = set(numbers)
    widths = [max(len(line[i]) for line in table) for i in range(len(table[0]))]
    lines = []
    for line in table:
        cells = [
            cell.rjust(width) if i in right else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(line, widths, strict=True))
        ]
        lines.append(("  " + "   ".join(cells)).rstrip())
    lines.insert(1, "  " + "   ".join("-" * width for width in widths))
    return lines
