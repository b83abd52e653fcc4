"""One file's text, or what is wrong with the file."""

from __future__ import annotations

from pathlib import Path

from jackstay.diagnostics.records import Problem
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import Span

MAX_BYTES = 64 * 1024 * 1024


class SourceFile(Entity):
    """A file's text with line ends as ``\\n`` and no byte order mark. ``path`` as in `Span`.

    ``lines`` has one entry a physical line, without its end; an empty file has none, and a final line end makes no
    empty last line."""

    path: str
    text: str
    lines: list[str] = fresh(factory=list)


def source_from_text(path: str, text: str) -> SourceFile:
    """Text that is already decoded (an editor's buffer, a test) as a source file."""
    if text.startswith("\ufeff"):
        text = text[1:]
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = text.split("\n")
    if not lines[-1]:
        lines.pop()
    return SourceFile(path, text, lines)


def source_from_bytes(path: str, data: bytes) -> SourceFile | Problem:
    """UTF-8 bytes as a source file, or the problem ``unreadable-file``."""
    if len(data) > MAX_BYTES:
        return unreadable(path, "larger than 64 MB")
    nul = data.find(b"\0")
    if nul >= 0:
        return unreadable(path, f"a NUL byte at byte {nul}", 1 + data.count(b"\n", 0, nul))
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        return unreadable(path, f"not UTF-8 at byte {error.start}", 1 + data.count(b"\n", 0, error.start))
    return source_from_text(path, text)


def read_source(shown: str, place: Path) -> SourceFile | Problem:
    """Read one file. ``shown`` is the path that findings print."""
    try:
        if not place.exists():
            return unreadable(shown, "missing")
        if not place.is_file():  # a folder, a device, a pipe: never opened
            return unreadable(shown, "not a file")
        if place.stat().st_size > MAX_BYTES:
            return unreadable(shown, "larger than 64 MB")
        with place.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
    except (OSError, ValueError) as error:
        return unreadable(shown, getattr(error, "strerror", None) or "not readable")
    return source_from_bytes(shown, data)


def unreadable(path: str, reason: str, line: int = 1) -> Problem:
    """The problem ``unreadable-file``: facts path, reason."""
    return Problem("unreadable-file", Span(path, line, 0, 0), {"path": path, "reason": reason})
