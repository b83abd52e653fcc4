"""Rehearsals set against a plan: for each line that was logged its runs and a proposal, for each excursion what its
runs have in common."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from jackstay.flow.records import Flow
from jackstay.source.spans import Span
from jackstay.timing.calibration import Fit, fit, written
from jackstay.timing.calibration_common import Common, Record, common
from jackstay.timing.calibration_log import Fault, Row
from jackstay.timing.calibration_names import Named, Names, NotNamed


class Line(NamedTuple):
    """One line of the plan that was logged. minutes: of all its runs, in the order of the log. fit: None: too few."""

    site: Span
    identity: str
    minutes: tuple[float, ...]
    fit: Fit | None


class Study(NamedTuple):
    """lines: in the order of the plan. common: by excursion."""

    lines: tuple[Line, ...]
    common: dict[str, Common]
    faults: tuple[Fault, ...]

    def brackets(self) -> dict[str, list[tuple[int, str]]]:
        """By file, the bracket for each line that gets one."""
        found: dict[str, list[tuple[int, str]]] = {}
        for line in self.lines:
            if line.fit is not None:
                found.setdefault(line.site.path, []).append((line.site.line, written(line.fit)))
        return found


def study(flow: Flow, rows: Iterable[Row], names: Names) -> Study:
    """Every row that names a step; the others are faults, and so is a second record of one step in one run."""
    faults: list[Fault] = []
    first: dict[tuple[str, str], Row] = {}
    by_site: dict[Span, list[tuple[Named, Row]]] = {}
    records: dict[str, list[Record]] = {one.excursion.name: [] for one in flow.excursions}
    for row in rows:
        try:
            named = names.find(row.step)
        except NotNamed as why:
            faults.append(Fault(row.path, row.line, str(why)))
            continue
        before = first.setdefault((named.identity, row.run), row)
        if before is not row:
            place = f"{before.path}:{before.line}" if before.path != row.path else f"line {before.line}"
            faults.append(Fault(row.path, row.line, f"run {row.run} of {row.step} stands on {place} already"))
            continue
        by_site.setdefault(named.site, []).append((named, row))
        records[named.excursion].append(Record(named.identity, named.actor, row.run, row.minutes))
    lines = []
    for site in sorted(by_site, key=lambda at: (at.path, at.line)):
        minutes = tuple(row.minutes for _, row in by_site[site])
        lines.append(Line(site, by_site[site][0][0].identity, minutes, fit(minutes)))
    return Study(tuple(lines), {name: common(found) for name, found in records.items() if found}, tuple(faults))
