"""The world of a campaign, with what nobody has touched taken over: what is declared, and each excursion.

What is declared knows nothing of the excursions: it is kept while no block of it changes. An excursion is kept while
its own block stays, the campaign has the same excursions, and nothing was wrong with it: then reading it again
would leave no trace but itself. Whatever is found wrong is read again each time, in the same order as ever, since what
is told of one excursion may depend on what was told of others before.
"""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.keeping.pages import Block, Pages
from jackstay.model.from_syntax import ModuleLike, WorldBuilder
from jackstay.model.records import NO_DIMENSION, Allowance, Excursion, Origin, Task, World
from jackstay.source.record import Entity
from jackstay.source.spans import Span
from jackstay.syntax import tree
from jackstay.syntax.modules import Module

_OF_PLANS = (tree.Excursion, tree.Campaign, tree.Allow)


class Kept(Entity):
    """An excursion as it was read. starts: how, and by name from where. called: the routines that it calls. figures:
    the mentions of values with an origin in it. tasks: its own, while nothing else may see them yet. elsewhere: the
    tasks of other excursions that its guards name, as (excursion, task)."""

    excursion: Excursion
    block: Block
    starts: tuple[str, str | None]
    called: frozenset[str]
    figures: list[tuple[Origin, Span]]
    tasks: list[Task]
    elsewhere: list[tuple[str, str]]


class Worlds:
    """Builds one world after the other: the same object, as long as what is declared is the same."""

    def __init__(self, pages: Pages) -> None:
        self.pages = pages
        self.key: tuple[Any, ...] = ()
        self.blocks: list[Block] = []  # those of the key, so that their ids stay their own
        self.builder: KeptBuilder | None = None

    def build(self, modules: dict[str, Module]) -> tuple[World, list[Problem]]:
        key, blocks = self._declared(modules)
        if self.builder is None or key != self.key or not self.builder.lasts:
            self.builder = KeptBuilder(modules, self.pages)  # type: ignore[arg-type]
            self.builder.declare_first()
            self.key, self.blocks = key, blocks
        builder = self.builder
        builder.plan_again(modules)  # type: ignore[arg-type]
        return builder.world, builder.notebook.problems

    def _declared(self, modules: dict[str, Module]) -> tuple[tuple[Any, ...], list[Block]]:
        key: list[Any] = []
        blocks: list[Block] = []
        for module in modules.values():
            own = [b for b in self.pages.known[module.source.path].blocks if not _is_plan(b)]
            blocks += own
            uses = tuple((used, alias) for _, used, alias in module.uses)
            key.append((module.name, module.source.path, module.shipped, uses, tuple(map(id, own))))
        return tuple(key), blocks


def _is_plan(block: Block) -> bool:
    return all(isinstance(statement.node, _OF_PLANS) for statement in block.statements)


class _Stale(Exception):
    """What was kept does not go together with what is new."""


class _Seen(set[Any]):
    """A set that counts how often it was asked whether it has something."""

    asked = 0

    def __contains__(self, key: object) -> bool:
        self.asked += 1
        return set.__contains__(self, key)


class _Reported(dict[Any, Any]):
    """A dictionary that counts how often it was asked for something."""

    asked = 0

    def get(self, key: Any, default: Any = None) -> Any:
        self.asked += 1
        return dict.get(self, key, default)


class KeptBuilder(WorldBuilder):
    """Reads what is declared once, and the excursions in it again and again. lasts: it may be used again."""

    def __init__(self, modules: dict[str, ModuleLike], pages: Pages) -> None:
        super().__init__(modules)
        self.pages = pages
        self.lasts = False
        self.kept: dict[str, Kept] = {}
        self.listed_by: tuple[Any, ...] = ()
        self.campaigns: list[Block] = []
        self.block_of: dict[int, Block] = {}  # by the id of an excursion's statement
        self.allowed: dict[int, tuple[Block, list[Allowance]]] = {}  # by the block's id
        self.allowed_now: dict[int, tuple[Block, list[Allowance]]] = {}

    def declare_first(self) -> None:
        self.declare()
        world, units, notebook = self.world, self.units, self.notebook
        self.lasts = world.time != NO_DIMENSION  # else it is some excursion that says what a time is
        self.declared = (world.name, world.title, world.decl, world.time, world.way)
        self.told = (list(notebook.problems), set(notebook.seen))
        # the lists belong to findings, and grow with each further place of an unknown name
        self.reported = [
            (scope, key, places, list(places))
            for scope in self.scopes.values()
            for key, places in scope.reported.items()
        ]
        self.of_units = (set(units.broken), set(units.broken_efforts), len(units.later))
        self.called_there = set(self.book.called)
        self.figures_there = list(self.notebook.figures)

    def plan_again(self, modules: dict[str, ModuleLike]) -> None:
        """The excursions of these modules, in what has been declared. As if nothing had been read since."""
        try:
            self._plan_again(modules)
        except _Stale:
            self.kept = {}
            self._plan_again(modules)

    def _plan_again(self, modules: dict[str, ModuleLike]) -> None:
        world, notebook, units = self.world, self.notebook, self.units
        self.modules = modules
        notebook.problems, notebook.seen = list(self.told[0]), _Seen(self.told[1])
        for scope in self.scopes.values():
            scope.reported = _Reported()
        for scope, key, places, first in self.reported:
            places[:] = first
            scope.reported[key] = places
        notebook.lines = {module.file.path: module.source.lines for module in modules.values()}
        world.name, world.title, world.decl, world.time, world.way = self.declared
        world.excursions, world.allowances, world.listed = [], [], False
        units.broken, units.broken_efforts = _Seen(self.of_units[0]), _Seen(self.of_units[1])
        del units.later[self.of_units[2] :]
        self.book.called = set(self.called_there)
        notebook.figures[:] = self.figures_there
        self.excursions, self.listing = {}, []
        self._look_round()
        self.allowed_now = {}
        self.plan()
        self.allowed = self.allowed_now

    def _look_round(self) -> None:
        """Whether the campaign has the same excursions as before; else none is kept."""
        names: list[Any] = []
        campaigns: list[Block] = []
        self.block_of = {}
        for module in self.modules.values():
            for block in self.pages.known[module.file.path].blocks:
                for statement in block.statements:
                    if isinstance(statement.node, tree.Excursion):
                        names.append((module.name, statement.node.name.text))
                        if len(block.statements) == 1:
                            self.block_of[id(statement)] = block
                    elif isinstance(statement.node, tree.Campaign):
                        campaigns.append(block)
        now = (tuple(names), tuple(map(id, campaigns)))
        if now != self.listed_by or not self.lasts:
            self.kept = {}
        self.listed_by, self.campaigns = now, campaigns

    def _named(self, node: tree.Excursion, at: Span, module: ModuleLike) -> Excursion:
        kept = self.kept.get(node.name.text)
        if kept is not None and kept.excursion.module == module.name and kept.excursion.decl == at:
            statement = kept.block.statements[0]
            if statement.node is node and self.block_of.get(id(statement)) is kept.block:
                kept.excursion.tasks = []  # until its turn has come: who is read before it does not know them
                return kept.excursion
        self.kept.pop(node.name.text, None)
        return super()._named(node, at, module)

    def _excursion(
        self, excursion: Excursion, statement: tree.Statement, module: ModuleLike, by_name: dict[str, Excursion]
    ) -> None:
        kept = self.kept.get(excursion.name)
        if kept is not None:
            for name, task in kept.elsewhere:
                if name not in by_name or all(one.name != task for one in by_name[name].tasks):
                    raise _Stale
            how, previous = kept.starts
            excursion.tasks = kept.tasks
            excursion.starts = how
            excursion.previous = by_name[previous] if previous is not None else None
            self.book.called |= kept.called
            self.notebook.figures += kept.figures
            return
        before, called, figures = self._traces(), self.book.called, len(self.notebook.figures)
        self.book.called = set()
        super()._excursion(excursion, statement, module, by_name)
        own = frozenset(self.book.called)
        self.book.called = called | own
        block = self.block_of.get(id(statement))
        if block is not None and before == self._traces():
            previous = excursion.previous.name if excursion.previous is not None else None
            told = self.notebook.figures[figures:]
            self.kept[excursion.name] = Kept(
                excursion, block, (excursion.starts, previous), own, told, excursion.tasks, _elsewhere(excursion)
            )

    def _traces(self) -> tuple[int, ...]:
        """What grows when anything is found wrong, be it that it has been told already: of another excursion, which may
        come to be sound."""
        notebook, units = self.notebook, self.units
        counting = [
            notebook.seen,
            units.broken,
            units.broken_efforts,
            *(scope.reported for scope in self.scopes.values()),
        ]
        asked = sum(one.asked for one in counting if isinstance(one, (_Seen, _Reported)))
        return asked, len(notebook.problems), len(units.later)

    def _allowances(self, module: ModuleLike, statements: list[tree.Statement]) -> None:
        """Block by block; those of the file itself, which end where it ends, are read anew."""
        for block in self.pages.known[module.file.path].blocks:
            known = self.allowed.get(id(block))
            if known is None:
                before, told = len(self.world.allowances), len(self.notebook.problems)
                super()._allowances(module, block.statements)
                own = any(isinstance(statement.node, tree.Allow) for statement in block.statements)
                if not own and told == len(self.notebook.problems):
                    self.allowed_now[id(block)] = block, self.world.allowances[before:]
            else:
                self.world.allowances += known[1]
                self.allowed_now[id(block)] = known


def _elsewhere(excursion: Excursion) -> list[tuple[str, str]]:
    names = [test.prop or "" for task in excursion.tasks if task.guard is not None for test in task.guard.tests]
    return [(head, task) for head, dot, task in (name.partition(".") for name in names) if dot]
