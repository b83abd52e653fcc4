"""Writing proposed durations into a plan: where each line's bracket stands, or where one goes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jackstay.diagnostics.records import Edit
from jackstay.source.files import SourceFile
from jackstay.source.spans import Span
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import Phrase, Statement


class Brackets:
    """The headings and steps of one file, by their first line."""

    def __init__(self, source: SourceFile) -> None:
        self._file, _ = parse(source)
        self._phrases = {one.line: one for one in _walk(self._file.statements) if isinstance(one.node, Phrase)}

    def edit(self, line: int, bracket: str) -> Edit | None:
        """Put this bracket on the heading or step that begins on the line; None where none does, or where it says just
        that already."""
        statement = self._phrases.get(line)
        if statement is None or not isinstance(statement.node, Phrase):
            return None
        phrase = statement.node
        if phrase.bracket is not None:
            return Edit(self._file.span(statement, phrase.bracket.at), bracket)
        last = self._file.span(statement, phrase.words[-1].at)
        return Edit(Span(last.path, last.line, last.end, last.end), f" {bracket}")


def _walk(statements: Sequence[Statement]) -> Iterator[Statement]:
    for statement in statements:
        yield statement
        yield from _walk(statement.children)
