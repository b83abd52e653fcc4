"""What is to be said of a project's settings themselves, once every plan of a check has been judged by them."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.plans import covers
from jackstay.commands.project import absolute
from jackstay.diagnostics.aside import Aside, How
from jackstay.diagnostics.records import Diagnostic, Problem
from jackstay.policy.globs import matches
from jackstay.policy.settings import FILE, PlanSettings, Settings, as_grave_as, fixed
from jackstay.rules import registry

if TYPE_CHECKING:
    from jackstay.commands.checking import Outcome


def about_settings(outcome: Outcome, settled: Sequence[PlanSettings], plans: Sequence[Path]) -> Iterator[Diagnostic]:
    """The findings, of each file of settings once; its text comes to the outcome's sources where there are any."""
    by_path: dict[str, list[PlanSettings]] = {}
    for one in settled:
        by_path.setdefault(one.settings.path, []).append(one)
    for path, several in by_path.items():
        settings = several[0].settings
        problems = [*settings.problems, *_expired(several), *_unused(outcome, several, plans)]
        for problem in problems:
            told = _as_grave_as_set(registry.tell(problem, None), settings, outcome.aside)
            if told is None:
                continue
            if settings.source is not None:
                outcome.sources[path] = settings.source
            yield told


def _as_grave_as_set(finding: Diagnostic, settings: Settings, aside: list[Aside]) -> Diagnostic | None:
    level = settings.level(finding.rule, Path(settings.path).name)
    if level is None or (fixed(finding.rule) and level != "error"):
        return finding
    if level == "off":
        aside.append(Aside(finding, How.OFF, FILE))
        return None
    return as_grave_as(level, finding, aside)


def _expired(several: Sequence[PlanSettings]) -> Iterator[Problem]:
    first = several[0]
    for number, waiver in enumerate(first.settings.waivers):
        if waiver.until is not None and first.today > waiver.until:
            back = {finding for one in several for finding in one.back.get(number, ())}
            yield Problem("expired-allow", waiver.at, {"rule": waiver.rule, "until": waiver.until, "back": len(back)})


def _unused(outcome: Outcome, several: Sequence[PlanSettings], plans: Sequence[Path]) -> Iterator[Problem]:
    """What hid nothing and fits nothing: only a check of every plan of the project can tell."""
    settings, today = several[0].settings, several[0].today
    used = {number for one in several for number in one.used}
    folder = Path(settings.folder)
    read = {
        Path(os.path.relpath(absolute(Path(path)), folder)).as_posix()
        for path in outcome.sources
        if not path.startswith("stdlib:")
    }
    idle = [
        waiver
        for number, waiver in enumerate(settings.waivers)
        if number not in used
        and (waiver.until is None or today <= waiver.until)
        and all(one.judged is None or registry.family(waiver.rule) in one.judged for one in several)
    ]
    empty = [(glob, at) for glob, at in settings.globs if not any(matches(glob, path) for path in read)]
    if not (idle or empty) or not covers(folder, plans):
        return
    for glob, at in empty:
        last = glob.rsplit("/", 1)[-1]
        near = sorted(path for path in read if last not in ("*", "**") and matches(last, path))
        yield Problem("matches-nothing", at, {"glob": glob, "near": near[:3]})
    nowhere = {at for _, at in empty}
    for waiver in idle:
        if not (waiver.globs and all(not any(matches(g, path) for path in read) for g in waiver.globs) and nowhere):
            yield Problem("unused-allow", waiver.at, {"rule": waiver.rule})
