"""Edits of fixes."""

from __future__ import annotations

from jackstay.diagnostics.edits import apply_edits
from jackstay.diagnostics.records import Edit
from jackstay.source.spans import Span


def edit(line: int, start: int, end: int, text: str) -> Edit:
    return Edit(Span("a.stay", line, start, end), text)


def test_replace_insert_and_whole_lines() -> None:
    text = "use depot\nuse arm\n"
    assert apply_edits(text, [edit(1, 4, 9, "yard")]) == "use yard\nuse arm\n"
    assert apply_edits(text, [edit(2, 7, 7, " as a")]) == "use depot\nuse arm as a\n"
    assert apply_edits(text, [edit(2, 0, 0, "use suited\n")]) == "use depot\nuse suited\nuse arm\n"


def test_several_edits_do_not_move_each_other() -> None:
    edits = [edit(1, 0, 1, "AA"), edit(1, 2, 3, ""), edit(2, 0, 0, "new\n"), edit(2, 1, 1, "!")]
    assert apply_edits("abc\nxy\n", edits) == apply_edits("abc\nxy\n", edits[::-1]) == "AAb\nnew\nx!y\n"


def test_only_line_breaks_end_lines() -> None:
    assert apply_edits("a\u2028b\x0bc\nd", [edit(2, 0, 1, "e")]) == "a\u2028b\x0bc\ne"


def test_after_a_last_line_without_an_end() -> None:
    assert apply_edits("a", [edit(2, 0, 0, "b\n")]) == "a\nb\n"
