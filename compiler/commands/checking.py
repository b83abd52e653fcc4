"""What every verb that reads plans does first: choose the plans, check them, and bring the findings together."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.plans import is_campaign, plans_in
from jackstay.commands.project import FILE, plan_settings
from jackstay.diagnostics.aside import PLAN, Aside
from jackstay.diagnostics.places import moved
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.source.library import SUFFIX, is_module_name
from jackstay.source.record import Entity, fresh

if TYPE_CHECKING:
    from jackstay.pipeline import Checked
    from jackstay.policy.settings import PlanSettings
    from jackstay.report.excerpt import Lines

    Check = Callable[..., Checked]  # of a plan, on a day, under settings where there are any


class CannotRun(Exception):
    """The command cannot do what it was asked; the message says why. Exit code 2."""


def today(text: str | None) -> datetime.date:
    """The day given on the command line, or the clock's."""
    if text is None:
        return datetime.date.today()
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise CannotRun(f"{text} is not a day: write it as 2027-03-01") from None


def chosen(paths: Iterable[str]) -> list[Path]:
    """The plans that the paths mean: a file is itself, a folder its plans; each once, in the order given."""
    plans: dict[Path, None] = {}
    for text in paths:
        path = Path(text)
        if path.is_dir():
            found = plans_in(path)
            if not found:
                raise CannotRun(f"there is no .stay file in {text}")
            plans.update(dict.fromkeys(found))
        elif not path.exists():
            raise CannotRun(f"{text} does not exist")
        elif path.suffix != SUFFIX:
            raise CannotRun(f"{text} is not a {SUFFIX} file")
        elif not is_module_name(path.stem):
            raise CannotRun(f"{text} cannot be named in a plan: its name may have letters, digits, -, _ and . only")
        else:
            plans[path] = None
    return list(plans)


def the_one(path: str) -> Path:
    """The one plan that a path means, for verbs that work on one: a folder's campaign, or its only plan."""
    plans = chosen([path])
    if len(plans) == 1 or (is_campaign(plans[0]) and not is_campaign(plans[1])):
        return plans[0]
    raise CannotRun(f"{path} holds several plans, name one: {', '.join(str(plan) for plan in plans)}")


def seen_from_here(path: str, folder: str) -> str:
    """A path of a finding (relative to its campaign's folder) as the user named that folder; ``.`` adds nothing."""
    if folder in ("", ".") or not path or path.startswith("stdlib:"):
        return path
    return f"{folder}/{path}"


def from_root(path: str, root: Path) -> str:
    """A path as seen from here, relative to a folder instead."""
    if not path or path.startswith("stdlib:"):
        return path
    try:
        return Path(os.path.relpath(path, root)).as_posix()
    except ValueError:  # on another disk
        return path


def rooted(finding: Diagnostic, root: Path) -> Diagnostic:
    return moved(finding, lambda at: at._replace(path=from_root(at.path, root)))


class Outcome(Entity):
    """The findings of several plans, each once, in order, with paths as seen from where the command runs.

    undecided: points left open, over all plans. aside: what was found and is not told as it was found."""

    findings: list[Diagnostic] = fresh(factory=list)
    sources: dict[str, Lines] = fresh(factory=dict)
    undecided: int = 0
    aside: list[Aside] = fresh(factory=list)

    @property
    def files(self) -> int:
        """How many of the user's files were read."""
        return sum(not path.startswith("stdlib:") and not path.endswith(FILE) for path in self.sources)

    def has(self, *severities: Severity) -> bool:
        return any(finding.severity in severities for finding in self.findings)

    def seen_from(self, root: Path) -> Outcome:
        """The same with paths relative to a folder, findings in the order that they have then."""
        findings = sorted((rooted(finding, root) for finding in self.findings), key=Diagnostic.order)
        sources = {from_root(path, root): source for path, source in self.sources.items()}
        aside = [
            one.shown(rooted(one.finding, root), one.at._replace(path=from_root(one.at.path, root)))
            for one in self.aside
        ]
        return Outcome(findings, sources, self.undecided, sorted(aside, key=Aside.order))


def checked(plan: Path, day: datetime.date, by: Check | None = None, top: Path | None = None) -> Checked:
    """One plan, checked under the settings of its project; a file that cannot be opened is the command's failure, not a
    finding of the plan. by: what checks it; None: the pipeline. top: where to stop looking for the settings."""
    from jackstay.pipeline import check

    judge: Check = by or check
    settings = plan_settings(plan, day, top)
    try:
        return judge(plan, day) if settings is None else judge(plan, day, settings)
    except OSError as error:
        raise CannotRun(f"{plan} cannot be read: {error.strerror or error}") from error


def gather(results: Iterable[tuple[Path, Checked]]) -> Outcome:
    outcome = Outcome()
    found: dict[tuple[object, ...], Diagnostic] = {}
    aside: dict[tuple[object, ...], Aside] = {}
    plans: list[Path] = []
    settled: list[PlanSettings] = []
    for plan, result in results:
        folder = plan.parent.as_posix()
        plans.append(plan)

        def here(finding: Diagnostic, folder: str = folder) -> Diagnostic:
            return moved(finding, lambda at: at._replace(path=seen_from_here(at.path, folder)))

        for path, source in result.sources.items():
            outcome.sources[seen_from_here(path, folder)] = source
        for finding in map(here, result.diagnostics):
            found.setdefault((*finding.order(), finding.severity), finding)
        outcome.undecided += len(result.undecided)
        settings = getattr(result, "settings", None)
        if settings is not None:
            settled.append(settings)
        for one in getattr(result, "aside", ()):
            decided = seen_from_here(one.at.path, folder) if one.by == PLAN else one.at.path
            shown = one.shown(here(one.finding), one.at._replace(path=decided))
            aside.setdefault(shown.order(), shown)
    if settled:  # whose own findings may be set aside too
        from jackstay.commands.settling import about_settings

        for finding in about_settings(outcome, settled, plans):
            found.setdefault((*finding.order(), finding.severity), finding)
    outcome.findings = sorted(found.values(), key=Diagnostic.order)
    outcome.aside = sorted([*outcome.aside, *aside.values()], key=Aside.order)
    return outcome
