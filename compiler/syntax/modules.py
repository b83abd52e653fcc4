"""The files of a campaign, found by following `use` from its root file."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from jackstay.diagnostics.records import Problem
from jackstay.source.files import SourceFile
from jackstay.source.library import Library
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import NOWHERE, Span
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import Excursion, File, Starts, Statement, Use

Parse = Callable[[SourceFile], tuple[File, list[Problem]]]


class Module(Entity):
    """One file. ``uses``: its `use` lines that lead to a module that was loaded, as (statement, module, alias)."""

    name: str
    file: File
    source: SourceFile
    uses: list[tuple[Statement, str, str | None]] = fresh(factory=list)
    shipped: bool = False


class Loaded(Entity):
    """``modules``: by name, each after those that it uses; the root file is the last. ``problems`` in the order of
    their places."""

    modules: dict[str, Module]
    problems: list[Problem]


class _Visit(Entity):
    module: Module
    pending: list[Statement]
    started_from: list[str]  # excursions that this file's start from: their files are read too


def load(library: Library, root_module_path: str, parsed: Parse = parse) -> Loaded:
    """Read and parse the root module and all that it uses. parsed: how a file is parsed.

    Problems: those of `Library.read` and `parse`, and ``use-cycle`` (facts circle: a list of (module, Span of its
    `use`)), ``used-twice`` (name, first: Span). A `use` that leads nowhere, or closes a circle, is dropped."""
    done: dict[str, Module] = {}
    problems: list[Problem] = []
    failed: set[str] = set()
    root = _open(library, root_module_path, None, problems, parsed)
    open_visits: list[_Visit] = [root] if root else []
    while open_visits:
        visit = open_visits[-1]
        if not visit.pending:
            if visit.started_from:
                _read_start(library, visit.started_from.pop(0), done, failed, open_visits, problems, parsed)
                continue
            done[visit.module.name] = visit.module
            open_visits.pop()
            continue
        statement = visit.pending.pop(0)
        use = statement.node
        assert isinstance(use, Use)
        name = use.module.text
        at = visit.module.file.span(statement, use.module.at)
        earlier = next((line for line, used, _ in visit.module.uses if used == name), None)
        if earlier is not None:
            problems.append(Problem("used-twice", at, {"name": name, "first": visit.module.file.span(earlier)}))
            continue
        names = [other.module.name for other in open_visits]
        if name in names:
            circle = [(other.module.name, _last_use(other)) for other in open_visits[names.index(name) : -1]]
            problems.append(Problem("use-cycle", at, {"circle": [*circle, (visit.module.name, at)]}))
            continue
        edge = (statement, name, use.alias.text if use.alias else None)
        if name in done:
            visit.module.uses.append(edge)
        elif name not in failed:
            opened = _open(library, name, at, problems, parsed)
            if opened is None:
                failed.add(name)  # reported at its first use; the others would say the same
            else:
                visit.module.uses.append(edge)
                open_visits.append(opened)
    problems.sort(key=lambda problem: (problem.at, problem.rule))
    return Loaded(done, problems)


def _read_start(
    library: Library,
    name: str,
    done: dict[str, Module],
    failed: set[str],
    open_visits: list[_Visit],
    problems: list[Problem],
    parsed: Parse,
) -> None:
    """``starts as first ends`` reads ``first.stay`` if there is one, so that one excursion can be checked by itself. It
    gives no names; where there is no such file, the model says that the excursion is unknown."""
    if name in done or name in failed or name in [other.module.name for other in open_visits] or not library.has(name):
        return
    opened = _open(library, name, None, problems, parsed)
    if opened is None:
        failed.add(name)
    else:
        open_visits.append(opened)


def _last_use(visit: _Visit) -> Span:
    statement = visit.module.uses[-1][0]
    assert isinstance(statement.node, Use)
    return visit.module.file.span(statement, statement.node.module.at)


def _open(library: Library, name: str, at: Span | None, problems: list[Problem], parsed: Parse) -> _Visit | None:
    source = library.read(name)
    if isinstance(source, Problem):
        place = source.at if source.at is not NOWHERE and at is None else at or NOWHERE
        problems.append(Problem(source.rule, place, source.facts))
        return None
    file, found = parsed(source)
    problems.extend(found)
    module = Module(name, file, source, shipped=library.is_shipped(name))
    uses = [line for line in file.statements if isinstance(line.node, Use)]
    return _Visit(module, uses, list(_started_from(file)))


def _started_from(file: File) -> Iterator[str]:
    for statement in file.statements:
        if isinstance(statement.node, Excursion):
            for line in statement.children:
                if isinstance(line.node, Starts) and line.node.how != "as":
                    yield line.node.name.text
