"""Outcomes and readings that nothing answers: what an action may do and a step does not reckon with."""

from __future__ import annotations

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Entry
from jackstay.source.spans import Span

OUTSIDE = "outside"


def check_answers(flow: ExcursionFlow) -> None:
    """Report ``expects-too-wide`` for a range that goes beyond its action's, ``outcome-unanswered`` for each outcome
    that an action may have, and ``reading-unanswered`` for each expected range, where no ``if`` stands under the step.

    Fallbacks' own steps count too. A routine's step is told once for each of its calls."""
    excursion = flow.excursion
    seen: set[tuple[Span, Span | None, str]] = set()
    entries = [*excursion.entries, *(e for fallback in excursion.fallbacks for e in fallback.body.entries)]
    for entry in entries:
        if entry.expect is not None and entry.action is not None and entry.action.expects is not None:
            widest = entry.action.expects
            if entry.expect.low.value < widest.low.value or entry.expect.high.value > widest.high.value:
                flow.problems.append(Problem("expects-too-wide", entry.expect.at, {"entry": entry, "widest": widest}))
        for outcome in _open(entry):
            key = (entry.at, entry.routine_at, outcome)
            if key in seen:
                continue
            seen.add(key)
            if outcome == OUTSIDE and entry.expect is not None:
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
