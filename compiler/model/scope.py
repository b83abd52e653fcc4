"""Names: what each module declares and sees.

A used module gives its names bare; with ``as`` they are reached through the alias. Nothing is re-exported. Verbs
and units are not names but words: they are known wherever the module that declares them was used, at any depth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.model.records import Kind, Measure, Table, Thing
from jackstay.source.spans import Span


class LetValue(NamedTuple):
    name: str
    value: Measure
    decl: Span


class Group(NamedTuple):
    name: str
    members: tuple[Thing, ...]
    decl: Span


Named = Thing | LetValue | Group | Table
Candidate = tuple[str, str, Span]  # name, what it is, where declared


@dataclass(slots=True)
class Scope:
    """What one module declares (own) and sees bare (seen), in the name spaces of things and of kinds."""

    module: str
    own_things: dict[str, Named] = field(default_factory=dict)
    own_kinds: dict[str, Kind] = field(default_factory=dict)
    seen_things: dict[str, Named] = field(default_factory=dict)
    seen_kinds: dict[str, Kind] = field(default_factory=dict)
    aliases: dict[str, "Scope"] = field(default_factory=dict)
    broken: set[str] = field(default_factory=set)  # names whose declaration failed: never reported again

    def thing(self, name: str) -> Named | None:
        head, dot, rest = name.partition(".")
        if dot:
            inner = self.aliases.get(head)
            return inner.own_things.get(rest) if inner else None
        return self.own_things.get(name) or self.seen_things.get(name)

    def kind(self, name: str) -> Kind | None:
        head, dot, rest = name.partition(".")
        if dot:
            inner = self.aliases.get(head)
            return inner.own_kinds.get(rest) if inner else None
        return self.own_kinds.get(name) or self.seen_kinds.get(name)

    def things_where(self, fits: Callable[[Thing], bool]) -> list[Candidate]:
        every: Iterable[Named] = [*self.own_things.values(), *self.seen_things.values()]
        return [(t.name, t.kind.name, t.decl) for t in every if isinstance(t, Thing) and fits(t)]

    def all_names(self) -> list[Candidate]:
        out: list[Candidate] = []
        for named in [*self.own_things.values(), *self.seen_things.values()]:
            out.append((named.name, named.kind.name if isinstance(named, Thing) else "", named.decl))
        return out

    def kind_names(self) -> list[Candidate]:
        return [(k.name, k.sort, k.decl) for k in [*self.own_kinds.values(), *self.seen_kinds.values()]]


@dataclass(slots=True)
class Notebook:
    """Collects problems of the model stage."""

    problems: list[Problem] = field(default_factory=list)

    def add(self, rule: str, at: Span, **facts: Any) -> None:
        self.problems.append(Problem(rule, at, facts))
