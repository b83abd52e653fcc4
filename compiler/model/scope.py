"""Names: what each module declares and sees.

A used module gives its names bare; with ``as`` they are reached through the alias. Nothing is re-exported. Verbs
and units are not names but words: they are known wherever the module that declares them was used, at any depth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, NamedTuple, Protocol

from jackstay.diagnostics.records import Problem
from jackstay.model.records import Kind, Measure, Origin, Table, Thing
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import Span
from jackstay.syntax import tree


class Places(Protocol):
    """The place of a word of one statement, or (None) of the statement's first line."""

    def __call__(self, at: tree.At | None = None) -> Span: ...


class LetValue(NamedTuple):
    name: str
    value: Measure
    decl: Span


class Group(NamedTuple):
    name: str
    members: tuple[Thing, ...]
    decl: Span


Named = Thing | LetValue | Group | Table


def what_is(named: Named) -> str:
    """What a name stands for, in words: its kind, or that it is no thing at all."""
    if isinstance(named, Thing):
        return named.kind.name
    return "a group" if isinstance(named, Group) else "a table" if isinstance(named, Table) else "a value"


Candidate = tuple[str, str, Span]  # name, what it is, where declared


class Scope(Entity):
    """What one module declares (own) and sees bare (seen), in the name spaces of things and of kinds."""

    module: str
    own_things: dict[str, Named] = fresh(factory=dict)
    own_kinds: dict[str, Kind] = fresh(factory=dict)
    seen_things: dict[str, Named] = fresh(factory=dict)
    seen_kinds: dict[str, Kind] = fresh(factory=dict)
    aliases: dict[str, "Scope"] = fresh(factory=dict)
    broken: set[str] = fresh(factory=set)  # names whose declaration failed: never reported again
    others: dict[str, "Scope"] = fresh(factory=dict)  # every module read so far, by name
    reported: dict[tuple[str, str], list[Span]] = fresh(factory=dict)  # unknown names: where they stand

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

    def once(self, space: str, name: str, at: Span) -> list[Span] | None:
        """The list for further places of an unknown name, at its first one; else None: it is a placeholder by now."""
        known = self.reported.get((space, name))
        if known is None:
            self.reported[space, name] = known = [at]
            return known
        if at not in known:
            known.append(at)
        return None

    def elsewhere(self, space: str, name: str) -> list[tuple[str, str, Span]]:
        """Files that declare this name but are not used here: module, alias ("" if none), declaration."""
        found = []
        for module, other in self.others.items():
            own = (other.own_things if space == "things" else other.own_kinds).get(name)
            if own is not None and other is not self:
                alias = next((a for a, scope in self.aliases.items() if scope is other), "")
                found.append((module, alias, own.decl))
        return found

    def unused(self, elsewhere: list[tuple[str, str, Span]], at: Span) -> bool:
        """Whether the lack of the file that declares a name has been told here: one `use` brings all its names."""
        return bool(elsewhere) and self.once("use", elsewhere[0][0], at) is None

    def things_where(self, fits: Callable[[Thing], bool], head: str = "") -> list[Candidate]:
        """The things, and groups of things, that fit. head: an alias, whose file's things are meant."""
        inner = self.aliases.get(head)
        every: Iterable[Named] = [*self.own_things.values(), *self.seen_things.values()]
        if head:
            every = inner.own_things.values() if inner else ()
        dot = f"{head}." if head else ""
        out: list[Candidate] = []
        for named in every:
            if isinstance(named, Thing) and fits(named):
                out.append((dot + named.name, named.kind.name, named.decl))
            elif isinstance(named, Group) and named.members and all(fits(m) for m in named.members):
                out.append((dot + named.name, "a group", named.decl))
        return out

    def groups(self) -> list[Candidate]:
        every = [*self.own_things.values(), *self.seen_things.values()]
        return [(named.name, "a group", named.decl) for named in every if isinstance(named, Group)]

    def all_names(self) -> list[Candidate]:
        out: list[Candidate] = []
        for named in [*self.own_things.values(), *self.seen_things.values()]:
            out.append((named.name, named.kind.name if isinstance(named, Thing) else "", named.decl))
        return out

    def kind_names(self) -> list[Candidate]:
        return [(k.name, k.sort, k.decl) for k in [*self.own_kinds.values(), *self.seen_kinds.values()]]


class Notebook(Entity):
    """Collects problems of the model stage."""

    problems: list[Problem] = fresh(factory=list)
    figures: list[tuple[Origin, Span]] = fresh(factory=list)  # each mention of a value that has an origin

    broken: set[object] = fresh(factory=set)  # kinds and properties declared with a mistake: they raise nothing further
    seen: set[tuple[str, Span, str]] = fresh(factory=set)
    lines: dict[str, list[str]] = fresh(factory=dict)  # of each file, by path

    def add(self, rule: str, at: Span, **facts: Any) -> None:
        """A problem, once for each rule, place and thing it is about (a routine is read at each of its calls).

        A word that was misspelt, and taken for the name it should be, has been told as such."""
        if rule in ("unknown-name", "unknown-kind") and self._misspelt(at, str(facts["name"])):
            return
        key = (rule, at, str(facts.get("name", "")) + str(facts.get("found", "")))
        if key not in self.seen:
            self.seen.add(key)
            self.problems.append(Problem(rule, at, facts))

    def _misspelt(self, at: Span, name: str) -> bool:
        lines = self.lines.get(at.path, ())
        written = lines[at.line - 1][at.start : at.end] if 0 < at.line <= len(lines) else name
        if written == name:
            return False
        from jackstay.syntax.trouble import proper_name  # only where something is wrong already

        return proper_name(written) == name
