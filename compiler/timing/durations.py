"""How long each step takes nominally: what its line says, else what its action usually takes in that state."""

from __future__ import annotations

from fractions import Fraction

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Duration
from jackstay.timing.formulas import evaluate


def nominal(duration: Duration) -> Fraction | None:
    """The likely value of a bracket, else the middle of its ends, else the one end it has. Seconds."""
    if duration.likely is not None:
        return duration.likely
    if duration.least is not None and duration.most is not None:
        return (duration.least + duration.most) / 2
    return duration.least if duration.least is not None else duration.most


def durations(flow: ExcursionFlow) -> tuple[Fraction | None, ...]:
    """Seconds of each step of the flow, in its order. None: nobody says how long.

    A bracket on a heading is for the whole way of each of its movers; it is shared out over the inserted steps of the
    way in proportion to what they usually take."""
    state = list(flow.start)
    found: list[Fraction | None] = []
    for step in flow.steps:
        found.append(_usual(step, state))
        for change in step.changes:
            state[change.var] = change.after
    for steps in entry_steps(flow).values():
        bracket = steps[0].entry.duration
        seconds = nominal(bracket) if bracket is not None else None
        if seconds is None:
            continue
        if steps[0].entry.action is None:
            _share(seconds, steps, found)
        else:
            for step in steps:
                if not step.inserted:
                    found[step.index] = seconds
    return tuple(found)


def entry_steps(flow: ExcursionFlow) -> dict[int, list[Step]]:
    """The steps of each entry that is flown, inserted ones included, by the entry's index, in the replayed order."""
    found: dict[int, list[Step]] = {}
    for step in flow.steps:
        found.setdefault(step.entry.index, []).append(step)
    return found


def _usual(step: Step, state: list[object]) -> Fraction | None:
    if step.action is None:
        # An arrival where one already is takes no time; a hole has none that anyone could know.
        return None if step.entry.hole else Fraction(0)
    if step.action.takes is None:
        return None
    seconds = evaluate(step.action.takes, state, step.binding, step.length)
    return seconds if seconds is None or seconds >= 0 else None


def _share(seconds: Fraction, steps: list[Step], found: list[Fraction | None]) -> None:
    """Spread a heading's time over each mover's own chain of steps."""
    chains: dict[int, list[Step]] = {}
    for step in steps:
        chains.setdefault(step.cast[0].index if step.cast else -1, []).append(step)
    for chain in chains.values():
        usual = [found[step.index] for step in chain]
        whole = sum((part for part in usual if part is not None), Fraction(0))
        known = whole > 0 and all(part is not None for part in usual)
        for step, part in zip(chain, usual, strict=True):
            share = part / whole if known and part is not None else Fraction(1, len(chain))
            found[step.index] = seconds * share
