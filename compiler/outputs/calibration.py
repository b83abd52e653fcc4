"""What rehearsals propose, as a page: durations by line, the common cause of each excursion, the edit as a diff."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import unified_diff
from statistics import median
from typing import Any

from jackstay.outputs.frame import frame_of
from jackstay.outputs.paper import heading, row, wrap
from jackstay.outputs.wording import source_place
from jackstay.timing.calibration import FEWEST, written
from jackstay.timing.calibration_common import ENOUGH_RUNS, SURE, Common, Share
from jackstay.timing.calibration_study import Line, Study


def as_text(checked: Any, study: Study) -> str:
    frame = frame_of(checked, unchecked=False)
    lines = frame.head("Calibration")
    if study.lines:
        lines += wrap(
            "Proposed: the beta-PERT with the mean of the runs, their standard deviation - widened for a new run, the "
            "more the fewer there are - and their lean; its ends hold every run; rounded to half a minute, under five "
            f"minutes to a tenth. With fewer than {FEWEST} runs nothing is proposed."
        )
        lines += ["", f"  {'runs':>4}  {'least':>6}  {'median':>6}  {'most':>6}  {'mean':>13}  proposed"]
    else:
        lines += wrap("No record names a step of this plan.")
    for line in study.lines:
        lines += _line(line)
    for name, common in study.common.items():
        lines += ["", *heading(f"In common: excursion {name}"), *_common(common)]
    return "\n".join([*lines, *frame.foot(), ""]) + "\n"


def _line(line: Line) -> list[str]:
    minutes = line.minutes
    if line.fit is None:
        mean, proposed = "", f"nothing: {len(minutes)} run{'' if len(minutes) == 1 else 's'}"
    else:
        mean, proposed = f"{line.fit.mean:.1f} +- {line.fit.error:.1f}", written(line.fit)
    first = f"  {len(minutes):>4}  {min(minutes):>6.1f}  {median(minutes):>6.1f}  {max(minutes):>6.1f}  {mean:>13}  "
    return [*row(proposed, first, source_place(line.site)), *wrap(line.identity, " " * 8)]


def _common(common: Common) -> list[str]:
    if common.run is None:
        why = "it takes two runs, and two steps with three runs each that are not all of one length"
        return wrap(f"What a run has in common cannot be told: {why}.", "  ")
    lines = wrap(
        f"From {common.runs} runs of {common.steps} steps; bands hold with a chance of {100 * SURE:.0f} %.", "  "
    )
    if common.enough:
        each = f", each {common.each.value:.2f}" if common.each is not None and common.each.value >= 0.005 else ""
        lines += wrap(f"slow day {common.run.value:.2f}{each}", "    ")
    else:
        lines += wrap(f"Fewer than {ENOUGH_RUNS} runs: bands, and no one number.", "  ")
    lines += wrap(f"common to a run: {_band(common.run)} of the spread", "    ")
    if common.each is None:
        lines += wrap(
            "common to what one actor does on it: not told apart; it takes two actors, one of two steps", "    "
        )
    else:
        lines += wrap(f"common to what one actor does on it: {_band(common.each)} of the spread", "    ")
    return lines


def _band(share: Share) -> str:
    return f"from {share.low:.2f} to {share.high:.2f}"


def differences(files: Iterable[tuple[str, bytes, bytes]]) -> str:
    """A unified diff of the files that change: (path, before, after)."""
    parts: list[str] = []
    for path, before, after in files:
        old, new = (data.decode("utf-8-sig").splitlines(keepends=True) for data in (before, after))
        for line in unified_diff(old, new, f"a/{path}", f"b/{path}"):
            parts.append(line if line.endswith("\n") else line + "\n\\ No newline at end of file\n")
    return "".join(parts)
