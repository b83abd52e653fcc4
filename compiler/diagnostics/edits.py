"""Applying the edits of a fix to text."""

from __future__ import annotations

from collections.abc import Iterable

from jackstay.diagnostics.records import Edit


def apply_edits(text: str, edits: Iterable[Edit]) -> str:
    """The text of one file after its edits, all given in places of the unchanged text; lines keep their endings.

    Edits are made from the last to the first, so that none moves another's place."""
    lines = text.split("\n")
    for edit in sorted(edits, key=lambda edit: (edit.at.line, edit.at.start, edit.at.end), reverse=True):
        row = edit.at.line - 1
        if edit.at.start == edit.at.end == 0 and edit.text.endswith("\n"):
            if row < len(lines):
                lines.insert(row, edit.text.removesuffix("\n"))
            else:
                lines.append(edit.text)
        elif row < len(lines):
            line = lines[row]
            lines[row] = line[: edit.at.start] + edit.text + line[edit.at.end :]
    return "\n".join(lines)
