"""Pieces to lines, as few as will do."""

from __future__ import annotations

from jackstay.formatting.pieces import Piece

WIDEST = 120  # columns of a line of the plan; comments and what cannot be broken may go beyond
STEP = 2  # columns of a level
FURTHER = 4  # columns that a line stands in from the one that it goes on with: further than what is under it


def indent(depth: int) -> str:
    return " " * (STEP * depth)


def fill(pieces: list[Piece], depth: int, kept: set[int], broken: bool) -> list[tuple[str, int]]:
    """The lines of a statement, indented; with each, the line of the text that its last word comes from.

    kept: lines of the text (counted from the statement's first) before which a line ends in any case. broken: whether
    other lines may end where the text does not fit."""
    lines: list[tuple[str, int]] = []
    line = indent(depth)
    row = 0
    for number, piece in enumerate(pieces):
        if number == 0:
            line += piece.text
            row = piece.down
            continue
        tail = len(pieces[number + 1].tail) if number + 1 < len(pieces) else 0
        full = len(line) + len(piece.joint) + len(piece.text) + tail > WIDEST
        if any(row < down <= piece.down for down in kept) or (broken and full):
            lines.append((line + piece.tail, row))
            line = indent(depth) + " " * FURTHER + piece.head + piece.text
        else:
            line += piece.joint + piece.text
        row = piece.down
    return [*lines, (line, row)]
