"""Outcomes and readings that nothing answers: what an action may do and a step does not reckon with."""

from __future__ import annotations

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Entry
from jackstay.source.spans import Span

OUTSIDE = "outside"


def check_answers(flow: ExcursionFlow) -> None:
    """Report ``expects-too-wide`` for a range that goes beyond its action's, ``goes-on-outside-limits`` where nothing
    but going on follows a reading outside of its action's, ``outcome-unanswered`` for each outcome that an action may
    have, and ``reading-unanswered`` for each other expected range, where no ``if`` stands under the step.

    Fallbacks' own steps count too. A routine's step is told once for each of its calls."""
    excursion = flow.excursion
    seen: set[tuple[Span, Span | None, str]] = set()
    entries = [*excursion.entries, *(e for fallback in excursion.fallbacks for e in fallback.body.entries)]
    for entry in entries:
        if entry.expect is not None and entry.action is not None and entry.action.expects is not None:
            widest = entry.action.expects
            if entry.expect.low.value < widest.low.value or entry.expect.high.value > widest.high.value:
                flow.problems.append(Problem("expects-too-wide", entry.expect.at, {"entry": entry, "widest": widest}))
        limits = entry.action is not None and entry.action.expects is not None
        for answer in entry.answers:
            key = (answer.at, entry.routine_at, OUTSIDE)
            if limits and answer.outcome == OUTSIDE and answer.fallback is None and key not in seen:
                seen.add(key)
                flow.problems.append(Problem("goes-on-outside-limits", answer.at, {"entry": entry, "answer": answer}))
        for outcome in _open(entry):
            key = (entry.at, entry.routine_at, outcome)
            if key in seen:
                continue
            seen.add(key)
            if outcome == OUTSIDE and limits:
                flow.problems.append(Problem("goes-on-outside-limits", entry.at, {"entry": entry, "answer": None}))
            elif outcome == OUTSIDE and entry.expect is not None:
                flow.problems.append(Problem("reading-unanswered", entry.at, {"entry": entry}))
            else:
                flow.problems.append(Problem("outcome-unanswered", entry.at, {"entry": entry, "outcome": outcome}))


def _open(entry: Entry) -> list[str]:
    """The outcomes of an entry that no ``if`` answers."""
    may = list(entry.action.may) if entry.action is not None else []
    if entry.expect is not None:
        may.append(OUTSIDE)
    answered = {answer.outcome for answer in entry.answers}
    return [outcome for outcome in may if outcome not in answered]
