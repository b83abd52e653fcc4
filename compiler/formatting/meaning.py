"""What a tree says, without where it says it: the measure of a formatter that changes nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from jackstay.source.record import Record
from jackstay.syntax.contexts import context_below
from jackstay.syntax.tree import At, File, Statement


class Placed(NamedTuple):
    """A statement, how deep it stands (0 at the left edge), and the context that it is read in, as in `contexts`."""

    statement: Statement
    depth: int
    context: str

    @property
    def heads(self) -> bool:
        """Whether anything may be indented under it."""
        return bool(context_below(self.context, self.statement.node))


def walk(file: File) -> Iterator[Placed]:
    """Every statement in the order of the text."""
    yield from _below(file.statements, 0, "top")


def _below(statements: list[Statement], depth: int, context: str) -> Iterator[Placed]:
    for statement in statements:
        yield Placed(statement, depth, context)
        if statement.children:
            yield from _below(statement.children, depth + 1, context_below(context, statement.node))


def same(one: Placed, other: Placed) -> bool:
    """Whether two statements say the same at the same depth."""
    return one.depth == other.depth and _same(one.statement.node, other.statement.node)


def _same(one: Any, other: Any) -> bool:
    """Whether two parts of a tree are equal but for the places in them."""
    if one is other:  # lines of equal text share their node
        return True
    kind = type(one)
    if kind is not type(other):
        return False
    if kind is At:
        return True
    if isinstance(one, tuple):
        return len(one) == len(other) and all(map(_same, one, other))
    if isinstance(one, Record):
        return all(_same(getattr(one, field), getattr(other, field)) for field in kind.__match_args__)
    return bool(one == other)
