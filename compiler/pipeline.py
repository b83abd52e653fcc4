"""The whole compile on one page: read it once, know the compiler.

files -> trees -> world -> flow -> times -> problems -> findings -> policy
                  world -> wording -> problems

`Stages` is what a check is made of. A session that checks again and again has stages of its own (`keeping`), which give
what they found before where nothing has changed.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.diagnostics.aside import Aside
from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.flow.analyse import analyse
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.model.from_syntax import build_world
from jackstay.model.records import Allowance as ModelAllowance
from jackstay.model.records import World
from jackstay.policy.allow import apply
from jackstay.policy.records import Allowance
from jackstay.rules.registry import families, family, rule, tell
from jackstay.source.files import SourceFile
from jackstay.source.library import Library
from jackstay.source.record import Entity, fresh
from jackstay.source.spans import Span
from jackstay.syntax.modules import Loaded, Module, load
from jackstay.timing.judging import check_times

if TYPE_CHECKING:
    from jackstay.policy.settings import PlanSettings
    from jackstay.timing.records import Times


def _line(at: Span) -> int:
    return at.line


class Plan(Entity):
    """What a rule may look at to tell its story. times: nominal times by excursion, filled by the rules that ask for
    them: a plan without findings is never timed. line: the number of a place's line, to be told in words."""

    world: World
    flow: Flow | None
    sources: dict[str, SourceFile]
    times: dict[ExcursionFlow, Times | None] = fresh(factory=dict)
    line: Callable[[Span], int] = _line


class Checked(Entity):
    """A checked campaign. flow is None when names or texts are wrong: then nothing was followed.

    settings: the project's, with what they did here. aside: what was found and is not told as it was found: the plan
    or the project allows it, turns it off or makes it less.
    judged: the families of rules that had their say, as far as the plan could be followed; None: all of them."""

    world: World
    flow: Flow | None
    diagnostics: list[Diagnostic]
    sources: dict[str, SourceFile]
    problems: list[Problem]
    settings: PlanSettings | None = None
    aside: tuple[Aside, ...] = ()
    judged: set[str] | None = None

    @property
    def flows(self) -> list[object]:
        return list(self.flow.excursions) if self.flow else []

    @property
    def undecided(self) -> list[Diagnostic]:
        return [d for d in self.diagnostics if d.severity is Severity.UNDECIDED]

    @property
    def failed(self) -> bool:
        return any(d.severity is Severity.ERROR for d in self.diagnostics)


def check(path: Path, today: date | None = None, settings: PlanSettings | None = None) -> Checked:
    """Check the campaign or excursion whose root file is ``path``. Never raises on bad input.

    today: the day on which an ``allow`` that has run out no longer counts; None: none has. settings: the project's.

    State is followed only when every text and name is sound: a thing that is not known is nowhere."""
    with unhindered():
        return run(path, today, Stages(), settings)


@contextmanager
def unhindered() -> Iterator[None]:
    collecting, deep = gc.isenabled(), sys.getrecursionlimit()
    gc.disable()  # what a check makes it keeps: looking for garbage in it takes as long as the check
    sys.setrecursionlimit(max(deep, _DEEP))  # chains of kinds are followed by recursion; a hostile file has thousands
    try:
        yield
    finally:
        sys.setrecursionlimit(deep)
        if collecting:
            gc.enable()


_DEEP = 30_000


class Stages:
    """What a check is made of. Places may be numbered in another way inside, as long as a line that stands before
    another has the smaller number and the lines of one statement follow one another: `shown` and `as_written` undo
    it."""

    def load(self, path: Path) -> Loaded:
        return load(Library(path.parent), path.stem)

    def sources(self, loaded: Loaded) -> dict[str, SourceFile]:
        """The files as they are, by path."""
        return {module.source.path: module.source for module in loaded.modules.values()}

    def world(self, modules: dict[str, Module]) -> tuple[World, list[Problem]]:
        return build_world(modules)  # type: ignore[arg-type]

    def flow(self, world: World) -> Flow:
        return analyse(world)

    def times(self, world: World, flow: Flow, among: list[ExcursionFlow]) -> None:
        check_times(world, flow, among)

    def line(self, at: Span) -> int:
        """The number of a place's line in its file."""
        return at.line

    def shown(self, finding: Diagnostic) -> Diagnostic:
        """With places as they are in the files."""
        return finding

    def as_written(self, allowance: ModelAllowance) -> ModelAllowance:
        """With places as they are in the files."""
        return allowance


# Errors that leave the steps of the plan, and what they do, as they are.
_STEPS_STAND = {"standing", "ends", "plan", "hazards"}
_STEPS_STAND_TOO = {"crowded", "holder-full", "too-much", "may-exceed", "line-may-be-too-short"}


def _timed(excursion: ExcursionFlow, world: World, settings: PlanSettings | None) -> bool:
    """Whether the times of an excursion mean anything: its errors, if any, change nothing in its steps."""
    return excursion.complete and _sound(excursion, world, settings, but=True)


def _sound(excursion: ExcursionFlow, world: World, settings: PlanSettings | None, but: bool = False) -> bool:
    """Whether it has no error but what the plan or the project allows. but: nor those that leave its steps as they
    are."""
    return all(
        rule(problem.rule).severity is not Severity.ERROR
        or (but and (family(problem.rule) in _STEPS_STAND or problem.rule in _STEPS_STAND_TOO))
        or any(
            a.rule == problem.rule and a.path == problem.at.path and a.first_line <= problem.at.line <= a.last_line
            for a in world.allowances
        )
        or (settings is not None and settings.waives(problem))
        for problem in excursion.problems
    )


class Found(Entity):
    """What the stages found in a plan, before anything is allowed. judged: the families of rules that had their say;
    None: all."""

    world: World
    flow: Flow | None
    problems: list[Problem]
    diagnostics: list[Diagnostic]
    allowances: list[Allowance]
    judged: set[str] | None
    sources: dict[str, SourceFile]


def run(path: Path, today: date | None, stages: Stages, settings: PlanSettings | None = None) -> Checked:
    """`check` with these stages. Places in the world, the flow and the problems are as the stages number them."""
    return judge(find(path, stages, settings), today, settings)


def find(path: Path, stages: Stages, settings: PlanSettings | None = None) -> Found:
    """All but policy."""
    loaded = stages.load(path)
    sources = {module.source.path: module.source for module in loaded.modules.values()}
    world, problems = stages.world(loaded.modules)
    problems = [*loaded.problems, *problems]
    flow = None
    if all(rule(problem.rule).severity is not Severity.ERROR for problem in problems):
        flow = stages.flow(world)
        stages.times(world, flow, [one for one in flow.excursions if _timed(one, world, settings)])
        problems += flow.problems
        for excursion in flow.excursions:
            problems += excursion.problems
    if flow is not None and "commands" in world.word_lists:
        from jackstay.wording.check import check_wording  # a plan that uses no list of words pays nothing for them

        shipped = [module.source.path for module in loaded.modules.values() if module.shipped]
        problems += check_wording(world, frozenset(shipped))
    plan = Plan(world, flow, sources, line=stages.line)
    diagnostics = sorted((stages.shown(tell(p, plan)) for p in problems), key=Diagnostic.order)
    allowances = [
        Allowance(
            a.rule, a.path, a.first_line, a.last_line, a.at, a.reason, date.fromisoformat(a.until) if a.until else None
        )
        for a in map(stages.as_written, world.allowances)
    ]
    judged = _judged(world, flow, diagnostics, settings)
    return Found(world, flow, problems, diagnostics, allowances, judged, stages.sources(loaded))


def judge(found: Found, today: date | None, settings: PlanSettings | None = None) -> Checked:
    """What remains of the findings when all is taken out that the plan and the project allow."""
    aside: list[Aside] = []
    findings = apply(found.diagnostics, found.allowances, today or date.min, found.judged, aside)
    if settings is not None:
        findings = settings.apply(findings, found.judged)
        aside += settings.aside
    parts = found.world, found.flow, findings, found.sources, found.problems
    return Checked(*parts, settings, tuple(sorted(aside, key=Aside.order)), found.judged)


def _judged(
    world: World, flow: Flow | None, diagnostics: list[Diagnostic], settings: PlanSettings | None
) -> set[str] | None:
    """The families of rules that had their say; None: all of them. Where an excursion fails as it is written, what
    stands on that (its times, its fallbacks, what may be dropped) has not been looked at everywhere."""
    if flow is None:
        return {family(d.rule) for d in diagnostics} & {"reading", "names"}
    timed = all(_timed(one, world, settings) for one in flow.excursions)
    if timed and all(_sound(one, world, settings) for one in flow.excursions):
        return None
    return families() - ({"plan"} if timed else {"time", "plan"})
