"""What every verb that reads plans does first: choose the plans, check them, and bring the findings together."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.plans import is_campaign, plans_in
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.source.record import Entity, fresh, replaced
from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.pipeline import Checked
    from jackstay.report.excerpt import Lines


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
        elif path.exists():
            plans[path] = None
        else:
            raise CannotRun(f"{text} does not exist")
    return list(plans)


def the_one(path: str) -> Path:
    """The one plan that a path means, for verbs that work on one: a folder's campaign, or its only plan."""
    plans = chosen([path])
    if len(plans) == 1 or (is_campaign(plans[0]) and not is_campaign(plans[1])):
        return plans[0]
    raise CannotRun(f"{path} holds several plans, name one: {', '.join(str(plan) for plan in plans)}")


def _moved(finding: Diagnostic, folder: str) -> Diagnostic:
    def at(span: Span) -> Span:
        return span._replace(path=seen_from_here(span.path, folder))

    return replaced(
        finding,
        at=at(finding.at),
        labels=tuple(replaced(label, at=at(label.at)) for label in finding.labels),
        events=tuple(replaced(event, at=at(event.at)) for event in finding.events),
        help=tuple(
            replaced(fix, edits=tuple(replaced(edit, at=at(edit.at)) for edit in fix.edits)) for fix in finding.help
        ),
    )


def seen_from_here(path: str, folder: str) -> str:
    """A path of a finding (relative to its campaign's folder) as the user named that folder; ``.`` adds nothing."""
    if folder in ("", ".") or not path or path.startswith("stdlib:"):
        return path
    return f"{folder}/{path}"


class Outcome(Entity):
    """The findings of several plans, each once, in order, with paths as seen from where the command runs.

    undecided: points left open, over all plans."""

    findings: list[Diagnostic] = fresh(factory=list)
    sources: dict[str, Lines] = fresh(factory=dict)
    undecided: int = 0

    @property
    def files(self) -> int:
        """How many of the user's files were read."""
        return sum(not path.startswith("stdlib:") for path in self.sources)

    def has(self, *severities: Severity) -> bool:
        return any(finding.severity in severities for finding in self.findings)


def checked(plan: Path, day: datetime.date) -> Checked:
    """One plan, checked; a file that cannot be opened is the command's failure, not a finding of the plan."""
    from jackstay.pipeline import check

    try:
        return check(plan, day)
    except OSError as error:
        raise CannotRun(f"{plan} cannot be read: {error.strerror or error}") from error


def gather(results: Iterable[tuple[Path, Checked]]) -> Outcome:
    outcome = Outcome()
    found: dict[tuple[object, ...], Diagnostic] = {}
    for plan, result in results:
        folder = plan.parent.as_posix()
        for path, source in result.sources.items():
            outcome.sources[seen_from_here(path, folder)] = source
        for finding in result.diagnostics:
            moved = _moved(finding, folder)
            found.setdefault((*moved.order(), moved.severity), moved)
        outcome.undecided += len(result.undecided)
    outcome.findings = sorted(found.values(), key=Diagnostic.order)
    return outcome
