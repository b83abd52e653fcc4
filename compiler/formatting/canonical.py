"""A plan's text in the one form that ``grammar/README.md`` describes under "Canonical text".

Words stay as they are and in their order; blanks, line ends and indentation are chosen. What comes out is parsed
again and held against what went in, statement by statement: nothing is given out that says something else."""

from __future__ import annotations

from typing import NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.formatting.comments import Levels, Margin, is_margin, within
from jackstay.formatting.filling import fill, indent
from jackstay.formatting.meaning import Placed, same, walk
from jackstay.formatting.pieces import pieces
from jackstay.source.files import SourceFile, source_from_text
from jackstay.source.record import Record
from jackstay.syntax.layout import lay_out
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import File

# How freely a statement is set: lines ended where they are full; only where a comment makes them; as it was written.
_FREE, _AS_BROKEN, _AS_WRITTEN = range(3)
_TABS = (2, 4, 8)  # what editors take a tab for


class Canonical(Record):
    """text: the canonical text, or None where there is none: then problems say what is wrong with the form of the file,
    or, if there are none, that no text in this form would say the same (a line would be too long to be read)."""

    text: str | None
    problems: list[Problem]


def canonical(source: SourceFile) -> Canonical:
    """The canonical text of a file. It has one if `parse` finds nothing wrong but tabs for indentation, and these mean
    the same whatever a tab is taken for."""
    file, problems = parse(source)
    if problems:
        untabbed = _untabbed(source) if all(problem.rule == "tab-indent" for problem in problems) else None
        if untabbed is None:
            return Canonical(None, problems)
        source, file = untabbed
    texts = [logical.text for logical in lay_out(source).statements]
    cautions = [_FREE] * len(texts)
    while True:
        text = _write(source, file, texts, cautions)
        careful = _differing(file, text)
        if not careful:
            return Canonical(text, [])
        if careful == [-1] or any(cautions[number] == _AS_WRITTEN for number in careful):
            return Canonical(None, [])
        for number in careful:
            cautions[number] += 1


def _untabbed(source: SourceFile) -> tuple[SourceFile, File] | None:
    """The file indented with spaces, if it says the same for all widths of a tab."""
    found: list[tuple[SourceFile, File]] = []
    for width in _TABS:
        lines = []
        for line in source.lines:
            body = line.lstrip(" \t")
            lines.append(line[: len(line) - len(body)].expandtabs(width) + body)
        spaced = source_from_text(source.path, "\n".join(lines))
        file, problems = parse(spaced)
        if problems:
            return None
        found.append((spaced, file))
    nested = [[(placed.depth, placed.statement.line) for placed in walk(file)] for _, file in found]
    return found[-1] if all(one == nested[0] for one in nested) else None


def _differing(file: File, text: str) -> list[int]:
    """The numbers of the statements that would not say the same, or stand elsewhere; [-1]: it cannot be told which."""
    other, problems = parse(source_from_text(file.path, text))
    before, after = list(walk(file)), list(walk(other))
    if len(before) != len(after):
        return [-1]
    wrong = [number for number, pair in enumerate(zip(before, after, strict=True)) if not same(*pair)]
    if not wrong and (problems or list(file.comments.values()) != list(other.comments.values())):
        return [-1]
    return wrong


class _Row(NamedTuple):
    """Lines to write together. first, last: the lines of the source that they stand for."""

    first: int
    last: int
    lines: list[str]


def _write(source: SourceFile, file: File, texts: list[str], cautions: list[int]) -> str:
    rows: list[_Row] = []
    levels = Levels(source)
    margins = [Margin(line, f"#{text}") for line, text in file.comments.items() if is_margin(source, line)]
    past = 0  # of the margins

    def between(end: int, following: int) -> None:
        """The comments up to a line."""
        nonlocal past
        start = past
        while past < len(margins) and margins[past].line < end:
            past += 1
        waiting = margins[start:past]
        for margin, depth in zip(waiting, levels.depths(waiting, following), strict=True):
            rows.append(_Row(margin.line, margin.line, [indent(depth) + margin.text]))

    for number, placed in enumerate(walk(file)):
        first = placed.statement.line
        last = first + texts[number].count("\n")
        between(first, placed.depth)
        while past < len(margins) and margins[past].line <= last:
            past += 1  # written with the statement
        rows.append(_Row(first, last, _statement(source, file, placed, texts[number], cautions[number])))
        levels.enter(placed)
    between(len(source.lines) + 1, 0)
    out: list[str] = []
    above = 0
    for row in rows:
        if out and row.first > above + 1:
            out.append("")
        out += row.lines
        above = row.last
    return "".join(f"{line}\n" for line in out)


def _statement(source: SourceFile, file: File, placed: Placed, text: str, caution: int) -> list[str]:
    """The lines of one statement with the comments that stand in it."""
    written = text.split("\n")
    downs = [down for down, line in enumerate(written) if line]
    after, kept = within(source, file.comments, placed.statement.line, downs, placed.depth)
    if caution == _AS_WRITTEN:
        pads = [indent(placed.depth), *[indent(placed.depth + 2)] * len(downs)]
        lines = [(pad + written[down].strip(" \t"), down) for pad, down in zip(pads, downs, strict=False)]
    else:
        lines = fill(pieces(placed, text), placed.depth, kept, caution == _FREE)
    out: list[str] = []
    for number, (line, down) in enumerate(lines):
        if number + 1 < len(lines) and lines[number + 1][1] == down:
            out.append(line)  # what stands behind a line that was broken goes behind its last part
        else:
            behind, *below = after[down]
            out += [line + behind, *below]
    return out
