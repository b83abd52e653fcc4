"""The whole compile on one page: read it once, know the compiler.

files -> trees -> world -> flow -> times -> problems -> findings -> policy
"""

from __future__ import annotations

import gc
import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.diagnostics.records import Diagnostic, Problem, Severity
from jackstay.flow.analyse import analyse
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.model.from_syntax import build_world
from jackstay.model.records import World
from jackstay.policy.allow import apply
from jackstay.policy.records import Allowance
from jackstay.rules.registry import families, family, rule, tell
from jackstay.source.files import SourceFile
from jackstay.source.library import Library
from jackstay.source.record import Entity, fresh
from jackstay.syntax.modules import load
from jackstay.timing.judging import check_times

if TYPE_CHECKING:
    from jackstay.timing.records import Times


class Plan(Entity):
    """What a rule may look at to tell its story. times: nominal times by excursion, filled by the rules that ask for
    them: a plan without findings is never timed."""

    world: World
    flow: Flow | None
    sources: dict[str, SourceFile]
    times: dict[ExcursionFlow, Times | None] = fresh(factory=dict)


class Checked(Entity):
    """A checked campaign. flow is None when names or texts are wrong: then nothing was followed."""

    world: World
    flow: Flow | None
    diagnostics: list[Diagnostic]
    sources: dict[str, SourceFile]
    problems: list[Problem]

    @property
    def flows(self) -> list[object]:
        return list(self.flow.excursions) if self.flow else []

    @property
    def undecided(self) -> list[Diagnostic]:
        return [d for d in self.diagnostics if d.severity is Severity.UNDECIDED]

    @property
    def failed(self) -> bool:
        return any(d.severity is Severity.ERROR for d in self.diagnostics)


def check(path: Path, today: date | None = None) -> Checked:
    """Check the campaign or excursion whose root file is ``path``. Never raises on bad input.

    today: the day on which an ``allow`` that has run out no longer counts; None: none has.

    State is followed only when every text and name is sound: a thing that is not known is nowhere."""
    collecting, deep = gc.isenabled(), sys.getrecursionlimit()
    gc.disable()  # what a check makes it keeps: looking for garbage in it takes as long as the check
    sys.setrecursionlimit(max(deep, _DEEP))  # chains of kinds are followed by recursion; a hostile file has thousands
    try:
        return _check(path, today)
    finally:
        sys.setrecursionlimit(deep)
        if collecting:
            gc.enable()


_DEEP = 30_000


# Errors that leave the steps of the plan, and what they do, as they are.
_STEPS_STAND = {"standing", "ends", "plan"}
_STEPS_STAND_TOO = {"crowded", "holder-full", "too-much", "may-exceed"}


def _timed(excursion: ExcursionFlow, world: World) -> bool:
    """Whether the times of an excursion mean anything: its errors, if any, change nothing in its steps."""
    return excursion.complete and _sound(excursion, world, but=True)


def _sound(excursion: ExcursionFlow, world: World, but: bool = False) -> bool:
    """Whether it has no error but what the plan allows. but: nor those that leave its steps as they are."""
    return all(
        rule(problem.rule).severity is not Severity.ERROR
        or (but and (family(problem.rule) in _STEPS_STAND or problem.rule in _STEPS_STAND_TOO))
        or any(
            a.rule == problem.rule and a.path == problem.at.path and a.first_line <= problem.at.line <= a.last_line
            for a in world.allowances
        )
        for problem in excursion.problems
    )


def _check(path: Path, today: date | None) -> Checked:
    loaded = load(Library(path.parent), path.stem)
    sources = {module.source.path: module.source for module in loaded.modules.values()}
    world, problems = build_world(loaded.modules)  # type: ignore[arg-type]
    problems = [*loaded.problems, *problems]
    flow = None
    if all(rule(problem.rule).severity is not Severity.ERROR for problem in problems):
        flow = analyse(world)
        check_times(world, flow, [one for one in flow.excursions if _timed(one, world)])
        problems += flow.problems
        for excursion in flow.excursions:
            problems += excursion.problems
    plan = Plan(world, flow, sources)
    diagnostics = sorted((tell(p, plan) for p in problems), key=Diagnostic.order)
    allowances = [
        Allowance(
            a.rule, a.path, a.first_line, a.last_line, a.at, a.reason, date.fromisoformat(a.until) if a.until else None
        )
        for a in world.allowances
    ]
    judged = _judged(world, flow, diagnostics)
    return Checked(world, flow, apply(diagnostics, allowances, today or date.min, judged), sources, problems)


def _judged(world: World, flow: Flow | None, diagnostics: list[Diagnostic]) -> set[str] | None:
    """The families of rules that had their say; None: all of them. Where an excursion fails as it is written, what
    stands on that (its times, its fallbacks, what may be dropped) has not been looked at everywhere."""
    if flow is None:
        return {family(d.rule) for d in diagnostics} & {"reading", "names"}
    timed = all(_timed(one, world) for one in flow.excursions)
    if timed and all(_sound(one, world) for one in flow.excursions):
        return None
    return families() - ({"plan"} if timed else {"time", "plan"})
