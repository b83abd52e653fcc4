"""A campaign that is checked again and again: each check says what a cold one would, to the byte, and takes as long as
what has changed."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.diagnostics.places import moved
from jackstay.diagnostics.records import Diagnostic, Problem
from jackstay.flow.analyse import analyse
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.keeping.flights import KeptClockwork, KeptWays
from jackstay.keeping.pages import Pages
from jackstay.keeping.worlds import Worlds
from jackstay.model.records import Allowance, World
from jackstay.pipeline import Checked, Stages, run, unhindered
from jackstay.source.files import SourceFile
from jackstay.source.library import Library
from jackstay.source.spans import Span
from jackstay.syntax.modules import Loaded, Module, load
from jackstay.timing.judging import check_times

if TYPE_CHECKING:
    from jackstay.policy.settings import PlanSettings


class Session:
    """Checks of the campaign or excursion whose root file is ``path``. overlay: texts that an editor has open, by the
    path that findings show; they are taken instead of the files."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.overlay: dict[str, SourceFile] = {}
        self._stages = KeptStages(self.overlay)

    def check(self, today: date | None = None, settings: PlanSettings | None = None) -> Checked:
        """The files as they are now; findings and sources are those of `pipeline.check`. In the world and the flow
        lines have numbers of the session's own, and the next check changes both: they are not for outputs."""
        with unhindered():
            try:
                return run(self.path, today, self._stages, settings)
            except BaseException:
                self._stages = KeptStages(self.overlay)  # half a check leaves nothing that the next one could trust
                raise


class KeptStages(Stages):
    """Stages that give what they found before where nothing it goes by has changed."""

    def __init__(self, overlay: dict[str, SourceFile]) -> None:
        self.overlay = overlay
        self.pages = Pages()
        self.worlds = Worlds(self.pages)
        self.ways: KeptWays | None = None
        self.clockwork = KeptClockwork()

    def load(self, path: Path) -> Loaded:
        library = Library(path.parent)
        library.overlay = self.overlay
        loaded = load(library, path.stem, self.pages.parse)
        for module in loaded.modules.values():
            module.source = self.pages.known[module.source.path].numbered
        return loaded

    def sources(self, loaded: Loaded) -> dict[str, SourceFile]:
        paths = [module.source.path for module in loaded.modules.values()]
        return {path: self.pages.known[path].source for path in paths}

    def world(self, modules: dict[str, Module]) -> tuple[World, list[Problem]]:
        world, problems = self.worlds.build(modules)
        if self.ways is not None and self.ways.world is not world:
            self.ways, self.clockwork = None, KeptClockwork()
        return world, problems

    def flow(self, world: World) -> Flow:
        if self.ways is None:
            self.ways = KeptWays(world)
        flow = analyse(world, self.ways)
        self.ways.turn()
        return flow

    def times(self, world: World, flow: Flow, among: list[ExcursionFlow]) -> None:
        check_times(world, flow, among, self.clockwork)
        self.clockwork.turn()

    def line(self, at: Span) -> int:
        return self.pages.line(at)

    def shown(self, finding: Diagnostic) -> Diagnostic:
        return moved(finding, self.pages.shown)

    def as_written(self, allowance: Allowance) -> Allowance:
        at = self.pages.shown(allowance.at)
        if allowance.first_line == 0:  # of the whole file
            lines = len(self.pages.known[at.path].source.lines)
            return allowance._replace(at=at, last_line=lines + 1)
        first, last = (self.pages.line(at._replace(line=n)) for n in (allowance.first_line, allowance.last_line))
        return allowance._replace(at=at, first_line=first, last_line=last)
