"""A rule's page in a terminal: prose wrapped, plans left as they are, marks of the test suite taken out."""

from __future__ import annotations

import re

from jackstay.report.cells import cells, shorten, wrap
from jackstay.report.paint import Paint

_MARK = re.compile(r"\s*#\s*finds:\s.*$")
_FILE = re.compile(r"file=(\S+)")


def _prose(rows: list[str], width: int) -> list[str]:
    """One paragraph or list item; ``- `` items keep their hanging indent."""
    text = " ".join(row.strip() for row in rows)
    hang = "  " if text.startswith("- ") else ""
    first, *rest = wrap(text, width - len(hang)) or [""]
    return [first, *(hang + row for row in rest)]


def render(page: str, width: int = 80, color: bool = False) -> str:
    """The page, no line of prose wider than the width; a wider line of a plan is shortened in its middle."""
    paint = Paint(color)
    out: list[str] = []
    waiting: list[str] = []
    inside = False

    def flush() -> None:
        if waiting:
            out.extend(_prose(waiting, width))
            waiting.clear()

    for line in page.splitlines():
        if line.startswith("```"):
            flush()
            inside = not inside
            named = _FILE.search(line)
            if inside and named:
                out.append("    " + paint("dim", f"# {named[1]}"))
        elif inside:
            marked = _MARK.search(line)
            kept = line[: marked.start()] if marked else line
            if kept.strip() or not marked:
                sign = paint("red", "  > ") if marked else "    "
                out.append((sign + (shorten(kept, width - 4) if cells(kept) > width - 4 else kept)).rstrip())
        elif line.startswith("#"):
            flush()
            out.append(paint("bold", line.lstrip("#").strip()))
        elif not line.strip():
            flush()
            out.append("")
        elif line.startswith("- "):
            flush()
            waiting.append(line)
        else:
            waiting.append(line)
    flush()
    return "\n".join(out) + "\n"
