"""How long each step takes: what its line says, else what its action usually takes in that state."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Sequence
from fractions import Fraction
from math import lcm
from typing import NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Action, Duration, Entry, Task
from jackstay.timing.formulas import evaluate
from jackstay.timing.no_value import Cause, why_no_value
from jackstay.timing.records import Triple
from jackstay.timing.usual import Usual, asks_for_a_way, formulas

ZERO = Fraction(0)
NOTHING = Triple(ZERO, ZERO, ZERO)
FINEST = 1_000_000_000  # parts of a second; durations that have no common part so large are rounded to the millisecond
MILLI = 1_000


def nominal(duration: Duration) -> Fraction | None:
    """The likely value of a bracket, else the middle of its ends, else the one end it has. Seconds."""
    if duration.likely is not None:
        return duration.likely
    if duration.least is not None and duration.most is not None:
        return (duration.least + duration.most) / 2
    return duration.least if duration.least is not None else duration.most


def written(duration: Duration | None) -> Triple | None:
    """A bracket's three numbers; one that gives a single number is certain."""
    likely = nominal(duration) if duration is not None else None
    if duration is None or likely is None:
        return None
    least = duration.least if duration.least is not None else likely
    return Triple(least, likely, duration.most if duration.most is not None else likely)


def durations(flow: ExcursionFlow, dropped: frozenset[Task] = frozenset()) -> tuple[Triple | None, ...]:
    """The three numbers of each step of the flow, in its order, in seconds. None: nobody says how long, or what is said
    has no value. The steps of a dropped task take no time.

    A bracket on a heading is for the whole way of each of its movers; each of its numbers is shared out over the
    inserted steps of the way in proportion to what they usually take."""
    state = list(flow.start)
    found: list[Triple | None] = []
    usual: dict[Action, Usual] = {}
    for step in flow.steps:
        action = step.action
        if action is None:
            # An arrival where one already is takes no time; a hole has none that anyone could know.
            found.append(None if step.entry.hole and step.entry.task not in dropped else NOTHING)
            continue
        if action not in usual:
            usual[action] = Usual(action)
        found.append(usual[action].of(step, state))
        for var, _, after in step.changes:
            state[var] = after
    brackets: dict[int, Triple | None] = {}  # equal brackets of a plan are mostly one object
    for steps in _bracketed(flow, dropped):
        duration = steps[0].entry.duration
        if id(duration) not in brackets:
            brackets[id(duration)] = written(duration)
        bracket = brackets[id(duration)]
        if bracket is None:
            continue
        if steps[0].entry.action is None:
            _share(bracket, steps, found)
        else:
            for step in steps:
                if not step.inserted:
                    found[step.index] = bracket
    return _coarse(found)


def _bracketed(flow: ExcursionFlow, dropped: frozenset[Task]) -> Iterable[list[Step]]:
    found: dict[Entry, list[Step]] = {}
    for step in flow.steps:
        entry = step.entry
        if entry.duration is not None and entry.task not in dropped:
            if entry in found:
                found[entry].append(step)
            else:
                found[entry] = [step]
    return found.values()


def steps_of(flow: ExcursionFlow) -> dict[Entry, list[Step]]:
    """The steps of each entry that is flown, inserted ones included, in the replayed order."""
    found: dict[Entry, list[Step]] = {}
    for step in flow.steps:
        if step.entry in found:
            found[step.entry].append(step)
        else:
            found[step.entry] = [step]
    return found


def entry_steps(flow: ExcursionFlow) -> dict[int, list[Step]]:
    """The same by the entry's index, for the flow of a whole excursion: there each index is one entry's."""
    return {entry.index: steps for entry, steps in steps_of(flow).items()}


def _share(bracket: Triple, steps: list[Step], found: list[Triple | None]) -> None:
    """Spread a heading's time over each mover's own chain of steps."""
    chains: dict[int, list[Step]] = {}
    for step in steps:
        chains.setdefault(step.cast[0].index if step.cast else -1, []).append(step)
    for chain in chains.values():
        usual = [found[step.index] for step in chain]
        whole = sum((part.likely for part in usual if part is not None), ZERO)
        known = whole > 0 and all(part is not None for part in usual)
        for step, part in zip(chain, usual, strict=True):
            share = part.likely / whole if known and part is not None else Fraction(1, len(chain))
            found[step.index] = Triple(*(number * share for number in bracket))


def _coarse(found: list[Triple | None]) -> tuple[Triple | None, ...]:
    """As they are, unless no sensible fraction of a second divides them all: sums would grow without end."""
    kinds = {id(triple): triple for triple in found if triple is not None}
    parts = {number.denominator for triple in kinds.values() for number in triple}
    if lcm(*parts) <= FINEST:
        return tuple(found)
    return tuple(
        None if triple is None else Triple(*(Fraction(round(number * MILLI), MILLI) for number in triple))
        for triple in found
    )


class Senseless(NamedTuple):
    """A ``takes`` that gives no duration for a step. why: what is wrong (``below-nothing``, ``out-of-order``,
    ``no-value``, ``no-way``). values: what least, likely and most come to, in seconds. cause: of a value that is
    missing."""

    step: Step
    why: str
    values: tuple[Fraction | None, ...]
    cause: Cause | None = None

    @property
    def key(self) -> Hashable:
        """The same for all steps of which one thing is to be mended."""
        return self.cause or (self.step.action, self.why, self.values)


def senseless(flow: ExcursionFlow, triples: Sequence[Triple | None]) -> Iterator[Senseless]:
    """The steps whose action says how long it takes, but not in this state: no row of a table, a division by nothing, a
    value that is not set, a way that there is not, a number below nothing, or three numbers out of order."""
    if all(triples[step.index] is not None or step.action is None or step.action.takes is None for step in flow.steps):
        return
    state = list(flow.start)
    for step in flow.steps:
        action = step.action
        if action is not None and action.takes is not None and triples[step.index] is None:
            values = tuple(
                None if formula is None else evaluate(formula, state, step.binding, step.length)
                for formula in formulas(action)
            )
            if not (step.route or step.length) and asks_for_a_way(action):
                yield Senseless(step, "no-way", values)
            elif any(
                one is None and formula is not None for one, formula in zip(values, formulas(action), strict=True)
            ):
                causes = (why_no_value(one, state, step.binding, step.length) for one in formulas(action))
                yield Senseless(step, "no-value", values, next((one for one in causes if one is not None), None))
            elif any(one is not None and one < 0 for one in values):
                yield Senseless(step, "below-nothing", values)
            else:
                yield Senseless(step, "out-of-order", values)
        for change in step.changes:
            state[change.var] = change.after
