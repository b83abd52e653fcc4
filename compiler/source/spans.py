"""Places in source text.

Lines count from 1, columns from 0 in code points; renderings add 1 to columns. A span never crosses a line: a
statement that runs over several lines is pointed at by its first line or by the word that matters.
"""

from __future__ import annotations

from typing import NamedTuple


class Span(NamedTuple):
    """A stretch of one line of one file. ``path`` is as the user sees it: relative to the campaign's folder, or
    ``stdlib:NAME`` for a shipped vocabulary."""

    path: str
    line: int
    start: int
    end: int


NOWHERE = Span("", 0, 0, 0)
