"""Every statement of the own files that no other reader takes as a whole, as its words: so that what has no record of
its own is told as well."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from typing import Any, NamedTuple

from jackstay.comparing.read_units import squeezed, without_comment
from jackstay.model.records import World
from jackstay.source.files import SourceFile
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import (
    Allow,
    Campaign,
    Excursion,
    Fallback,
    Fill,
    Fills,
    Path,
    Statement,
    Task,
    Thing,
)

_SHIPPED = "stdlib:"
_TOKEN = re.compile(r'"[^"]*"|[\w./-]+|\S')


class Row(NamedTuple):
    """A statement. excursion, task: in which it stands, or empty. sort: its node's class. under, head: what it is
    called by: the statement that it belongs to, and its first word. names: the things that it declares."""

    excursion: str
    task: str
    sort: str
    under: str
    head: str
    words: str
    names: tuple[str, ...]

    @property
    def label(self) -> str:
        return f"{self.under}, {self.head}" if self.under else self.head


def bare(words: str) -> str:
    """The words without layout."""
    return " ".join(_TOKEN.findall(words))


def rows_of(world: World, sources: dict[str, Any]) -> list[Row]:
    """In the order of the files' names and lines."""
    declared: defaultdict[tuple[str, int], list[str]] = defaultdict(list)
    for thing in world.things:
        declared[thing.decl.path, thing.decl.line].append(thing.name)
    found: list[Row] = []
    for path in sorted(sources):
        if not path.startswith(_SHIPPED) and isinstance(sources[path], SourceFile):
            found += _Reader(sources[path], declared).rows()
    return found


class _Reader:
    def __init__(self, source: SourceFile, declared: dict[tuple[str, int], list[str]]) -> None:
        self.source, self.declared = source, declared
        self.statements = parse(source)[0].statements
        starts = sorted(one.line for one in _all(self.statements))
        self.ends = dict(zip(starts, [*starts, len(source.lines) + 1][1:], strict=True))

    def rows(self) -> Iterator[Row]:
        for one in self.statements:
            if isinstance(one.node, Excursion):
                yield from self._excursion(one, one.node.name.text)
            elif isinstance(one.node, (Allow, Campaign, Path, Thing)):
                for inner in _all([one]):
                    yield self._row(inner, "", "")

    def _excursion(self, one: Statement, name: str) -> Iterator[Row]:
        yield self._row(one, name, "")
        for child in one.children:
            if isinstance(child.node, (Task, Fallback)):
                for inner in _all([child]):
                    yield self._row(inner, name, child.node.name.text)
                continue
            yield self._row(child, name, "")
            under = f"fills {child.node.form.text}" if isinstance(child.node, Fills) else ""
            for inner in _all(child.children):
                yield self._row(inner, name, "", under)

    def _row(self, one: Statement, excursion: str, task: str, under: str = "") -> Row:
        node, words = one.node, self._words(one)
        head = node.heading.text if isinstance(node, Fill) else words.split(" ", 1)[0].rstrip(":")
        names = tuple(self.declared.get((self.source.path, one.line), ()))
        if isinstance(node, Path):
            names = (" to ".join(sorted((node.a.text, node.b.text))),)
        return Row(excursion, task, type(node).__name__, under, head, words, names)

    def _words(self, one: Statement) -> str:
        lines = self.source.lines[one.line - 1 : self.ends[one.line] - 1]
        return squeezed(" ".join(without_comment(line).strip() for line in lines))


def _all(statements: list[Statement]) -> Iterator[Statement]:
    for one in statements:
        yield one
        yield from _all(one.children)
