"""Calls that keep apart what nothing keeps apart: for each finding about stays some that clear it, tried out.

A call lets one step wait for the end of another that comes before it in the replay, so that no circle can close and the
replay stays as it was. With more order fewer stays meet: what a call does not clear it does not make worse.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import copy

from jackstay.diagnostics.records import Problem
from jackstay.flow.clocks import called
from jackstay.flow.counts import check_counts
from jackstay.flow.lengths import check_lines
from jackstay.flow.replay import Replay
from jackstay.flow.standing import check_rules
from jackstay.flow.stays import Stay
from jackstay.source.record import replaced

CHECKS: dict[str, Callable[[Replay], None]] = {
    "rule-may-break": check_rules,
    "need-may-fail": check_rules,
    "may-exceed": check_counts,
    "line-may-be-too-short": check_lines,
}
UNDECIDED = "not-decided"
_MOST_FINDINGS = 40  # of one excursion
_MOST_CALLS = 8  # for one finding
_MOST_STEPS = 100_000  # looked at again for one excursion: some tenths of a second

Call = tuple[int, int]  # (a step that is called over, a later one that waits), by index


class _Enough(Exception):
    """No more is tried."""


def add_mends(replay: Replay) -> None:
    """Give each of these findings ``mend``: pairs of steps, the second of each to wait for the first; empty if none
    have been found. No pair of them can be left out. What is found of the same steps is cleared with it: where two may
    take one seat, neither is to find the other there."""
    problems = [p for p in replay.flow.problems if p.rule in CHECKS and "mend" not in p.facts]
    if problems:
        trials = Trials(replay, _MOST_STEPS // max(1, len(replay.flow.steps)))
        steps = replay.flow.steps
        for problem in problems[_MOST_FINDINGS:]:
            problem.facts["mend"] = []
        for problem in problems[:_MOST_FINDINGS]:
            own = _steps(problem)
            alike = [p for p in problems if p.rule == problem.rule and not own.isdisjoint(_steps(p))]
            calls = sorted(trials.mend(problem, alike), key=lambda call: call[::-1])
            problem.facts["mend"] = [(steps[said], steps[heard]) for said, heard in calls]


class Trials:
    """Judges one replay again with more order. left: how often it still may."""

    def __init__(self, replay: Replay, left: int) -> None:
        self.replay = replay
        self.left = left

    def mend(self, problem: Problem, alike: list[Problem]) -> list[Call]:
        """alike: what is to be cleared with it, itself included."""
        calls: list[Call] = []
        found: Problem | None = problem
        try:
            while found is not None:
                options = _against(found)
                if len(calls) == _MOST_CALLS or not options:
                    return []
                enough = (call for call in options if self._again(alike, [*calls, call]) is None)
                calls.append(next(enough, options[-1]))
                found = self._again(alike, calls)
            for call in list(calls):
                fewer = [one for one in calls if one is not call]
                if fewer and self._again(alike, fewer) is None:
                    calls = fewer
        except _Enough:
            return []
        return calls

    def _again(self, alike: list[Problem], calls: list[Call]) -> Problem | None:
        """What is found of these still with these calls in the order."""
        if self.left <= 0:
            raise _Enough
        self.left -= 1
        replay = copy(self.replay)
        replay.flow = replaced(self.replay.flow, problems=[])
        with called(replay.flow, calls):
            CHECKS[alike[0].rule](replay)
        open_before = {_about(p) for p in self.replay.flow.problems if p.rule == UNDECIDED}
        for found in replay.flow.problems:
            if any(_same(found, one) for one in alike) or (
                found.rule == UNDECIDED and _about(found) not in open_before
            ):
                return found
        return None


def _same(one: Problem, other: Problem) -> bool:
    """Whether two findings are of one thing."""
    first, second = one.facts, other.facts
    if one.rule != other.rule:
        return False
    if one.rule == "rule-may-break":
        same_case = first["binding"] == second["binding"] or one.at == other.at
        return first["rule"] is second["rule"] and same_case
    if one.rule == "need-may-fail":
        return first["step"] is second["step"]
    return all(first.get(name) is second.get(name) for name in ("holder", "bound", "line"))


def _about(undecided: Problem) -> tuple[int, ...]:
    """What a point that is not decided is about."""
    return tuple(id(undecided.facts.get(name)) for name in ("rule", "holder", "bound", "line"))


def _stays(problem: Problem) -> list[Stay]:
    """Those that must not meet; none where it is not decided whether they do."""
    stays = list(problem.facts.get("stays", ()))
    if problem.rule == "need-may-fail":
        stays.append(Stay(problem.facts["step"], problem.facts["step"]))
    return stays


def _steps(problem: Problem) -> set[int]:
    """Where these stays begin and end."""
    return {step.index for stay in _stays(problem) for step in (stay.start, stay.end) if step is not None}


def _against(problem: Problem) -> list[Call]:
    """Calls of which each keeps two of the stays apart; the shortest waits last."""
    stays = _stays(problem)
    ends = {stay.end.index for stay in stays if stay.end is not None}
    starts = {stay.start.index for stay in stays if stay.start is not None}
    return sorted(((a, b) for a in ends for b in starts if a < b), key=lambda call: (call[0], -call[1]))
