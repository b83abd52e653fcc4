"""Findings that are not told as they were found: allowed, turned off, made less grave, or known already.

Whoever decided that has to answer for it, so that none of them is ever out of sight: each keeps who decided, and why.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.source.record import Record, replaced
from jackstay.source.spans import NOWHERE, Span

PLAN = "the plan"
_MOST_PLACES = 3
_MOST_GROUPS = 4


class How(str, Enum):
    """lowered: it is among the findings still, as less than its rule makes of it. known, older: a
    baseline knows it, or it was there at an earlier revision."""

    ALLOWED = "allowed"
    OFF = "turned_off"
    LOWERED = "lowered"
    KNOWN = "known"
    OLDER = "older"

    @property
    def words(self) -> str:
        return self.value.replace("_", " ")


class Aside(Record):
    """finding: as it was found. by: `PLAN`, or the name of the file or the revision that decided. at: where, if that is
    known. until: the last day on which it counts. now: what a finding that was lowered is told as."""

    finding: Diagnostic
    how: How
    by: str
    reason: str = ""
    at: Span = NOWHERE
    until: str = ""
    now: Severity | None = None

    def order(self) -> tuple[tuple[str, int, int, str, str], str, str]:
        return (self.finding.order(), self.how.value, self.by)

    def shown(self, finding: Diagnostic, at: Span | None = None) -> Aside:
        """The same of a finding whose places are told in another way."""
        return replaced(self, finding=finding, at=self.at if at is None else at)

    @property
    def decision(self) -> str:
        """``allowed in the plan until 2027-03-01: "the ladder takes two"``"""
        if self.how is How.ALLOWED:
            until = f" until {self.until}" if self.until else ""
            reason = f'"{" ".join(self.reason.split())}"' if self.reason.strip() else "no reason is given"
            return f"allowed {'in' if self.by == PLAN else 'by'} {self.by}{until}: {reason}"
        if self.how is How.LOWERED:
            return f"made a {self.now.value if self.now is not None else 'lesser finding'} by {self.by}"
        if self.how is How.OFF:
            return f"turned off by {self.by}"
        return f"known to {self.by}" if self.how is How.KNOWN else f"in {self.by} too"


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def sorts(findings: Iterable[Diagnostic]) -> list[str]:
    """``["2 errors", "1 warning"]``"""
    each = [finding.severity for finding in findings]
    told = []
    for severity in (Severity.ERROR, Severity.WARNING, Severity.UNDECIDED, Severity.NOTE):
        if many := each.count(severity):
            open_point = severity is Severity.UNDECIDED
            told.append(f"{counted(many, 'point')} not decided" if open_point else counted(many, severity.value))
    return told


def totals(aside: Sequence[Aside]) -> str:
    """``1 error allowed (with its reason), 1 warning turned off``"""
    told = []
    for how in How:
        here = [one for one in aside if one.how is how]
        if not here:
            continue
        words = f"{' + '.join(sorts(one.finding for one in here))} {how.words}"
        if how is How.ALLOWED:
            silent = sum(not one.reason.strip() for one in here)
            reasons = "with its reason" if len(here) == 1 else "with their reasons"
            words += f" ({reasons})" if not silent else f" ({silent} without a reason)"
        told.append(words)
    return ", ".join(told)


def tag(aside: Sequence[Aside]) -> str:
    """The same for where there is little room: ``1 error allowed``, or ``5 set aside (2 errors)``. Empty for none."""
    if not aside:
        return ""
    kinds = sorts(one.finding for one in aside)
    if len(kinds) == 1 and len({one.how for one in aside}) == 1:
        return f"{kinds[0]} {aside[0].how.words}"
    errors = sum(one.finding.severity is Severity.ERROR for one in aside)
    return f"{len(aside)} set aside" + (f" ({counted(errors, 'error')})" if errors else "")


class Group(Record):
    """What one decision has set aside of one rule."""

    aside: tuple[Aside, ...]

    @property
    def told(self) -> str:
        """``error crowded (yard.stay 12, 31): allowed in the plan: "…"``"""
        first = self.aside[0]
        severity = "not decided:" if first.finding.severity is Severity.UNDECIDED else first.finding.severity.value
        many = f" x {len(self.aside)}" if len(self.aside) > 1 else ""
        places = [f"{one.finding.at.path} {one.finding.at.line}".strip() for one in self.aside]
        more = f" and {len(places) - _MOST_PLACES} more" if len(places) > _MOST_PLACES else ""
        return f"{severity} {first.finding.rule}{many} ({', '.join(places[:_MOST_PLACES])}{more}), {first.decision}"


def groups(aside: Iterable[Aside]) -> list[Group]:
    """In a steady order: as the first findings of each stand."""
    found: dict[tuple[str, ...], list[Aside]] = {}
    for one in sorted(aside, key=Aside.order):
        found.setdefault((one.finding.rule, one.finding.severity.value, one.decision), []).append(one)
    return [Group(tuple(several)) for several in found.values()]


def in_short(aside: Sequence[Aside]) -> str:
    """For the foot of a sheet, however many there are. Empty for none."""
    if not aside:
        return ""
    every = groups(aside)
    told = "; ".join(one.told for one in every[:_MOST_GROUPS])
    left = sum(len(one.aside) for one in every[_MOST_GROUPS:])
    more = f"; and {left} more, listed in pack.txt, end.txt and review.html" if left else ""
    return f"FOUND AND SET ASIDE: {told}{more}."


def in_full(aside: Iterable[Aside]) -> list[tuple[str, str]]:
    """Each finding: what it says and where, and who has decided what."""
    return [
        (
            f"{'not decided' if one.finding.severity is Severity.UNDECIDED else one.finding.severity.value} "
            f"{one.finding.rule} ({f'{one.finding.at.path} {one.finding.at.line}'.strip()}): {one.finding.message}",
            one.decision,
        )
        for one in sorted(aside, key=Aside.order)
    ]
