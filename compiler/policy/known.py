"""Findings that are known already, and what of a check is new.

A finding is known again by its rule, by what it is about and by the statements it stands in (see
`diagnostics.fingerprints`), in the same file, or in another where its own is gone: a file may be renamed. Several that
are alike are counted. One that has become graver is new. An error that keeps a plan from being followed is never left
out: with it, nobody knows what else is new.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Protocol

from jackstay.diagnostics.fingerprints import Fingerprint, fingerprint
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.policy.allow import keeps_from_following
from jackstay.rules import registry
from jackstay.source.record import Entity, Record


class Lines(Protocol):
    @property
    def lines(self) -> Sequence[str]: ...


Sources = Mapping[str, Lines]
_WEIGHT = {Severity.ERROR: 2, Severity.UNDECIDED: 1, Severity.WARNING: 1, Severity.NOTE: 0}


class Known(Entity):
    """Findings that are alike. left: how many of them no finding has answered to yet. line: in the baseline's file."""

    path: str
    print: Fingerprint
    severity: Severity
    count: int
    line: int = 0
    left: int = 0


class Split(Record):
    """new: what is told. old: what is left out. gone: known findings, with how many of them did not occur."""

    new: list[Diagnostic]
    old: list[Diagnostic]
    gone: list[Known]


def must_be_told(finding: Diagnostic) -> bool:
    return registry.exists(finding.rule) and keeps_from_following(finding.rule)


def known_from(findings: Iterable[Diagnostic], sources: Sources) -> list[Known]:
    """What to know of these findings, sorted; those that must be told are not among it."""
    found: dict[tuple[str, str, tuple[str, ...], tuple[str, ...], int], Known] = {}
    for finding in findings:
        if must_be_told(finding):
            continue
        key = fingerprint(finding, sources)
        at = (finding.at.path, key.rule, key.inside, key.names, _WEIGHT[finding.severity])
        found.setdefault(at, Known(finding.at.path, key, finding.severity, 0)).count += 1
    return [found[at] for at in sorted(found)]


def split(findings: Sequence[Diagnostic], sources: Sources, known: Sequence[Known]) -> Split:
    """known: of one check or file; its counts are not changed. Paths of both are from the same folder."""
    by_path: dict[tuple[str, Fingerprint], list[Known]] = {}
    elsewhere: dict[Fingerprint, list[Known]] = {}
    for one in known:
        one.left = one.count
        by_path.setdefault((one.path, one.print), []).append(one)
        if one.path not in sources:
            elsewhere.setdefault(one.print, []).append(one)
    waiting: list[tuple[Diagnostic, Fingerprint]] = []
    old: list[Diagnostic] = []
    new: list[Diagnostic] = []
    for finding in findings:
        key = fingerprint(finding, sources)
        if must_be_told(finding):
            new.append(finding)
        elif _taken(by_path.get((finding.at.path, key), ()), finding):
            old.append(finding)
        else:
            waiting.append((finding, key))
    graver: set[Fingerprint] = set()
    for finding, key in waiting:
        if _taken(elsewhere.get(key, ()), finding):
            old.append(finding)
        else:
            new.append(finding)
            graver.add(key)
    gone = [one for one in known if one.left and one.print not in graver]  # what is graver now is not gone
    return Split(sorted(new, key=Diagnostic.order), sorted(old, key=Diagnostic.order), gone)


def _taken(candidates: Sequence[Known], finding: Diagnostic) -> bool:
    for one in candidates:
        if one.left and _WEIGHT[one.severity] >= _WEIGHT[finding.severity]:
            one.left -= 1
            return True
    return False
