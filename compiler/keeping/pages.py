"""Files as blocks: each statement at the left edge with all that is under it, parsed once while its text stays.

A block keeps its first line's number however many lines come in above it: numbers are given with room between the
blocks, in the order of the file. `Pages.line` says where a line really is. What is kept of a block that nobody has
touched, with all places in it, is thus true of the file as it is now.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from typing import Any, cast

from jackstay.diagnostics.records import Problem
from jackstay.source.files import SourceFile
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import Span
from jackstay.syntax.layout import MAX_LINE
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import File, Statement

_LEFT = re.compile(r"^[^ \t#\n]", re.MULTILINE)
_ROOM = 1 << 27  # more lines than any file may have: one has at most 64 MB
_APART = 1 << 40  # between the numbers of neighbours at first, so that others find place there


class Block(Entity):
    """text: its lines, without what is blank or comment at its end. first: its first line's number."""

    path: str
    text: str
    first: int
    statements: list[Statement]
    problems: list[Problem]


class Sheet:
    """The lines of a file by their numbers, less one, as an index."""

    def __init__(self, page: "Page", lines: list[str]) -> None:
        self.page = page
        self.lines = lines

    def __len__(self) -> int:
        return self.page.number(len(self.lines))

    def __getitem__(self, index: int) -> str:
        return self.lines[self.page.line(index + 1) - 1]


class Page(Entity):
    """One file. starts: the real line at which each block starts, from 1. firsts: the number of that line. apart: the
    blocks of the file when it was last cut into several."""

    source: SourceFile
    blocks: list[Block]
    starts: list[int]
    firsts: list[int] = fresh(factory=list)
    apart: list[Block] = fresh(factory=list)
    numbered: Any = None  # the source with a `Sheet` for lines

    def line(self, number: int) -> int:
        """The real line of a number."""
        at = bisect_right(self.firsts, number) - 1
        return number if at < 0 else self.starts[at] + number - self.firsts[at]

    def number(self, line: int) -> int:
        at = bisect_right(self.starts, line) - 1
        return line if at < 0 else self.firsts[at] + line - self.starts[at]


class Pages:
    """The files of a campaign as they were last seen."""

    def __init__(self) -> None:
        self.known: dict[str, Page] = {}

    def parse(self, source: SourceFile) -> tuple[File, list[Problem]]:
        """As `syntax.parsing.parse`, with blocks that are known taken as they are. Without comments."""
        before = self.known.get(source.path)
        page = before if before is not None and before.source.text == source.text else self._read(source, before)
        self.known[source.path] = page
        statements = [statement for block in page.blocks for statement in block.statements]
        problems = [problem for block in page.blocks for problem in block.problems]
        return File(source.path, statements, {}), problems

    def line(self, at: Span) -> int:
        page = self.known.get(at.path)
        return at.line if page is None else page.line(at.line)

    def shown(self, at: Span) -> Span:
        page = self.known.get(at.path)
        return at if page is None else at._replace(line=page.line(at.line))

    def _read(self, source: SourceFile, before: Page | None) -> Page:
        known = before.apart if before is not None else []
        page = self._numbered(source, *_cut(source), known)
        if page is not None:
            page.apart = page.blocks
        else:
            whole = _block(source.path, source.text, _APART, True)
            assert whole is not None
            page = Page(source, [whole], [1], apart=known)
        page.firsts = [block.first for block in page.blocks]
        page.numbered = SourceFile(source.path, source.text, cast("list[str]", Sheet(page, source.lines)))
        return page

    def _numbered(self, source: SourceFile, texts: list[str], starts: list[int], known: list[Block]) -> Page | None:
        """The texts as blocks. None: what is wrong with the lines of one is told together with those of the others."""
        same = 0
        while same < min(len(texts), len(known)) and texts[same] == known[same].text:
            same += 1
        alike = 0
        while alike < min(len(texts), len(known)) - same and texts[-1 - alike] == known[-1 - alike].text:
            alike += 1
        middle = texts[same : len(texts) - alike]
        old = known[same : len(known) - alike]
        if len(middle) == len(old):
            firsts = [block.first for block in old]
        else:
            low = known[same - 1].first if same else 0
            high = known[len(known) - alike].first if alike else low + (len(middle) + 1) * _APART
            apart = (high - low) // (len(middle) + 1)
            if apart < _ROOM:
                return self._numbered(source, texts, starts, [])  # no room left between them: all anew
            firsts = [low + apart * (n + 1) for n in range(len(middle))]
        made: list[Block] = []
        for n, (text, first) in enumerate(zip(middle, firsts, strict=True)):
            if len(middle) == len(old) and old[n].text == text:
                made.append(old[n])
                continue
            block = _block(source.path, text, first, len(texts) == 1)
            if block is None:
                return None
            made.append(block)
        return Page(source, [*known[:same], *made, *known[len(known) - alike :]], starts)


def _cut(source: SourceFile) -> tuple[list[str], list[int]]:
    """The blocks' texts, and the line at which each starts."""
    text, lines = source.text, source.lines
    places = [found.start() for found in _LEFT.finditer(text)]
    if not places or any(not _idle(line) for line in text[: places[0]].split("\n")):
        return [text], [1]
    starts, line, at = [], 1, 0
    for place in places:
        line += text.count("\n", at, place)
        at = place
        starts.append(line)
    texts = []
    for start, end in zip(starts, [*starts[1:], len(lines) + 1], strict=True):
        last = end - 1
        while last > start and _idle(lines[last - 1]):
            last -= 1
        texts.append("\n".join(lines[start - 1 : last]))
    return texts, starts


def _idle(line: str) -> bool:
    """Whether a line is blank or nothing but a comment."""
    rest = line.lstrip(" \t")
    return not rest or (rest[0] == "#" and len(line) <= MAX_LINE)


def _block(path: str, text: str, first: int, whole: bool) -> Block | None:
    lines = text.split("\n")
    if whole and not lines[-1]:
        lines.pop()
    file, problems = parse(SourceFile(path, text, lines), first)
    if not whole and any(problem.rule in _OF_LINES for problem in problems):
        return None
    return Block(path, text, first, file.statements, problems)


# What is counted, or told so often at most, over all lines of a file.
_OF_LINES = {"tab-indent", "line-too-long"}
