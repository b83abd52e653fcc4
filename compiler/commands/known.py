"""Leaving out what is known: the findings of a baseline file, or of the same plans at an earlier revision."""

from __future__ import annotations

import datetime
import os
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from jackstay.commands.checking import CannotRun, Outcome, checked, chosen, from_root, gather, rooted
from jackstay.commands.project import FILE, absolute, repository_top
from jackstay.diagnostics.aside import Aside, How
from jackstay.diagnostics.records import Diagnostic, Severity

if TYPE_CHECKING:
    from jackstay.policy.known import Known


def read_baseline(file: str) -> list[Known]:
    """Raises CannotRun."""
    from jackstay.policy.baseline import BadBaseline, known_in

    try:
        return known_in(Path(file).read_text(encoding="utf-8"))
    except BadBaseline as error:
        raise CannotRun(f"the baseline {file} {error}") from None
    except UnicodeDecodeError:
        raise CannotRun(f"the baseline {file} is no UTF-8 text") from None
    except OSError as error:
        raise CannotRun(f"the baseline {file} cannot be read: {error.strerror or error}") from error


def write_baseline(outcome: Outcome, file: str, root: Path) -> tuple[int, int]:
    """How many findings the file now knows, and how many it cannot be made to know."""
    from jackstay.commands.writing import replace_file
    from jackstay.policy.baseline import text_of
    from jackstay.policy.known import known_from, must_be_told

    seen = outcome.seen_from(root)
    known = known_from(seen.findings, seen.sources)
    try:
        replace_file(Path(file), text_of(known).encode("ascii"))
    except OSError as error:
        raise CannotRun(f"{file} cannot be written: {error.strerror or error}") from error
    return sum(one.count for one in known), sum(map(must_be_told, outcome.findings))


def _only_new(outcome: Outcome, known: Sequence[Known], root: Path, how: How, by: str) -> list[Known]:
    """Sets aside what is known; gives what of it did not occur. by: the file or the revision that knows it."""
    from jackstay.policy.known import split

    pairs = [(finding, rooted(finding, root)) for finding in outcome.findings]
    sources = {from_root(path, root): source for path, source in outcome.sources.items()}
    parted = split([there for _, there in pairs], sources, known)
    old = set(map(id, parted.old))
    outcome.findings = [here for here, there in pairs if id(there) not in old]
    left = [here for here, there in pairs if id(there) in old]
    outcome.undecided -= sum(finding.severity is Severity.UNDECIDED for finding in left)
    outcome.aside = sorted([*outcome.aside, *(Aside(one, how, by) for one in left)], key=Aside.order)
    return parted.gone


def without_baseline(outcome: Outcome, file: str, known: Sequence[Known], root: Path, whole: bool) -> None:
    """whole: whether every plan of the project was checked."""
    from jackstay.policy.baseline import outdated

    gone = _only_new(outcome, known, root, How.KNOWN, file)
    read = [from_root(path, root) for path in outcome.sources if not path.endswith(FILE)]
    outcome.findings = sorted([*outcome.findings, *outdated(gone, file, read, whole)], key=Diagnostic.order)


def without_older(outcome: Outcome, revision: str, paths: Sequence[str], day: datetime.date) -> None:
    """Leave out what the plans of these paths were told of at the revision too. Raises CannotRun."""
    from jackstay.policy.known import known_from
    from jackstay.source.revisions import NoCommitYet, NoRevision, at_revision

    tops = list(dict.fromkeys(repository_top(Path(path)) for path in paths))
    top = tops[0]
    if top is None:
        raise CannotRun(f"there is no git repository around {paths[0]}: {revision} has nothing to be looked up in")
    if len(tops) > 1:
        raise CannotRun("the paths are not all in one git repository: check them one by one")
    try:
        with at_revision(revision, top, [FILE]) as laid:
            there = [laid.path / os.path.relpath(absolute(Path(path)), top) for path in paths]
            plans = [plan for place in there if _holds_plans(place) for plan in chosen([str(place)])]
            before = gather((plan, checked(plan, day, top=laid.path)) for plan in dict.fromkeys(plans))
            earlier = before.seen_from(laid.path)
            known = known_from(earlier.findings, earlier.sources)
    except NoCommitYet:
        return  # everything is new
    except NoRevision as error:
        raise CannotRun(str(error)) from None
    _only_new(outcome, known, top, How.OLDER, revision)


def _holds_plans(place: Path) -> bool:
    """Whether there was anything to check: a plan may be new since."""
    return place.is_file() or (place.is_dir() and next(place.glob("**/*.stay"), None) is not None)
