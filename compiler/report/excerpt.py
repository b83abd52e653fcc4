"""Source lines with the places that matter underlined."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Protocol

from jackstay.diagnostics.records import Diagnostic
from jackstay.report.cells import cells, shorten, shown, take, wrap
from jackstay.report.paint import Paint
from jackstay.source.record import Record
from jackstay.source.spans import Span


class Lines(Protocol):
    """A source file as a report needs it."""

    @property
    def lines(self) -> Sequence[str]: ...


Sources = Mapping[str, Lines]


class Pointer(Record):
    """A place to underline. sign: ``^`` for the finding's own place, ``-`` for one that contributes."""

    at: Span
    text: str
    sign: str


def text_at(sources: Sources, path: str, line: int) -> str | None:
    """A source line, its control characters made harmless; None where there is no such line."""
    file = sources.get(path)
    if file is None or not 1 <= line <= len(file.lines):
        return None
    return shown(file.lines[line - 1].rstrip("\r\n"))


def _window(line: str, start: int, end: int, width: int) -> tuple[str, int, int]:
    """The part of a line to show, and where start and end stand in it; the place stays in sight."""
    if cells(line) <= width:
        return line, start, end
    first = 0
    if cells(line[:end]) > width - 1:
        while first < start and cells(line[first:start]) > width // 3:
            first += 1
    lead = "…" if first else ""
    part = take(line[first:], max(width - cells(lead) - 1, 1))
    tail = "…" if first + len(part) < len(line) else ""
    shift = len(lead) - first
    limit = len(lead) + len(part)
    return lead + part + tail, min(start + shift, limit), min(end + shift, limit)


def _pointed(pointer: Pointer, line: str, gutter: str, width: int, paint: Paint, style: str) -> list[str]:
    room = max(width - cells(gutter) - 1, 8)
    part, start, end = _window(line, min(pointer.at.start, len(line)), min(pointer.at.end, len(line)), room - 1)
    before = cells(part[:start])
    stroke = pointer.sign * max(1, min(cells(part[start:end]), room - before))
    margin = paint("dim", gutter)
    head = margin + " " + " " * before + paint(style, stroke)
    if not pointer.text:
        return [head]
    beside = room - before - len(stroke) - 1
    text = shown(pointer.text)
    if cells(text) <= beside:
        return [f"{head} {paint(style, text)}"]
    if beside >= 24:
        first, *rest = wrap(text, beside)
        indent = margin + " " * (before + len(stroke) + 2)
        return [f"{head} {paint(style, first)}", *(indent + paint(style, row) for row in rest)]
    return [head, *(f"{margin} {paint(style, row)}" for row in wrap(text, room))]


def excerpts(finding: Diagnostic, sources: Sources, width: int, paint: Paint, style: str) -> list[str]:
    """The finding's own file first, then the others by name; a line stands once, however much is said about it."""
    pointers = [Pointer(finding.at, finding.note, "^")]
    pointers += [Pointer(label.at, label.text, "-") for label in finding.labels]
    byline: dict[tuple[bool, str, int], list[Pointer]] = {}
    for pointer in pointers:
        key = (pointer.at.path != finding.at.path, pointer.at.path, pointer.at.line)
        byline.setdefault(key, []).append(pointer)
    digits = max(len(str(pointer.at.line)) for pointer in pointers)
    gutter = "  " + " " * digits + " │"
    rows: list[str] = []
    path, last = finding.at.path, 0
    for key in sorted(byline):
        _, at_path, number = key
        line = text_at(sources, at_path, number)
        places = sorted(byline[key], key=lambda one: (one.sign != "^", one.at.start, one.at.end))
        if line is None:
            told = [one for one in places if one.text]
            rows += [row for one in told for row in wrap(f"  {at_path} {number}: {shown(one.text)}", width)]
            continue
        if at_path != path:
            rows += ["", "  " + paint("bold", shorten(shown(at_path), width - 2))]
        elif last and number > last + 1:
            rows.append("  " + " " * digits + " …")
        path, last = at_path, number
        room = max(width - cells(gutter) - 2, 8)  # a place may stand just after the line's last cell
        part, _, _ = _window(line, min(places[0].at.start, len(line)), min(places[0].at.end, len(line)), room)
        rows.append(f"  {paint('dim', f'{number:>{digits}} │')} {part}".rstrip())
        for pointer in places:
            chosen = style if pointer.sign == "^" else "cyan"
            same, _, _ = _window(line, min(pointer.at.start, len(line)), min(pointer.at.end, len(line)), room)
            if same != part:
                rows.append(f"{paint('dim', gutter)} {same}".rstrip())
                part = same
            rows += _pointed(pointer, line, gutter, width, paint, chosen)
    return rows
