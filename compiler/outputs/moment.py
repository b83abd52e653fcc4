"""Where one thing may be when a step begins, whatever the timing.

At that moment some steps are surely over, some surely not, and of the rest any set that the order allows. A state value
is *settled* iff each step that writes it is surely over or surely still to come; otherwise it has the last value surely
left, or that of any write that may be over. Values that follow from several variables (what hangs on what) are put
together only as one and the same moment can leave them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

from jackstay.flow.races import find_races
from jackstay.flow.records import ExcursionFlow, Step

MOST = 400  # combinations beyond which the answer is not sought


class Option(NamedTuple):
    """A value, the step that leaves it (None: it stands so already) and the next that would change it (None: none may
    be over by then)."""

    value: Any
    after: Step | None
    before: Step | None


class Outcome(NamedTuple):
    """One answer, with the steps that must be over, and those that must not, for the first way to it found. ways: in
    how many combinations of writes it comes about."""

    answer: Any
    over: tuple[Step, ...]
    not_over: tuple[Step, ...]
    ways: int


class Unordered(Exception):
    """The answer turns on a variable that racing steps change."""


class TooMany(Exception):
    """The answer turns on more combinations than are tried."""


class Moment:
    """The start of one step of an excursion. Events: 2 i is the start of step i, 2 i + 1 its end."""

    def __init__(self, flow: ExcursionFlow, step: Step) -> None:
        self.flow = flow
        self.step = step
        self.into = _events(flow)
        self.racing = {race.var for race in find_races(flow)}
        self.known: dict[int, frozenset[int]] = {}
        self.past = self.needed(2 * step.index)
        self.future = self._following(2 * step.index)
        self.writers: dict[int, list[tuple[Step, Any]]] = {}
        for one in flow.steps:
            for change in one.changes:
                self.writers.setdefault(change.var, []).append((one, change.after))

    def needed(self, event: int) -> frozenset[int]:
        """The event, and all that come before it in every timing."""
        found = self.known.get(event)
        if found is None:
            seen = {event}
            queue = [event]
            for one in queue:
                for before in self.into[one]:
                    if before not in seen:
                        seen.add(before)
                        queue.append(before)
            found = self.known[event] = frozenset(seen)
        return found

    def _following(self, event: int) -> set[int]:
        after: list[list[int]] = [[] for _ in self.into]
        for one, into in enumerate(self.into):
            for before in into:
                after[before].append(one)
        seen = {event}
        queue = [event]
        for one in queue:
            for later in after[one]:
                if later not in seen:
                    seen.add(later)
                    queue.append(later)
        return seen

    def options(self, var: int) -> list[Option]:
        """The possible values of a variable, in the order in which they come. Raises `Unordered`."""
        if var in self.racing:
            raise Unordered
        value, after, found = self.flow.start[var], None, []
        for step, left in self.writers.get(var, ()):
            end = 2 * step.index + 1
            if end in self.past:
                value = left
            elif end in self.future:
                break
            else:
                found.append(Option(value, after, step))
                value, after = left, step
        return [*found, Option(value, after, None)]

    def under_way(self, var: int) -> list[Step]:
        """Steps that change the variable and are surely in the middle of it."""
        return [
            step
            for step, _ in self.writers.get(var, ())
            if step is not self.step and 2 * step.index in self.past and 2 * step.index + 1 in self.future
        ]

    def outcomes(self, ask: Callable[[Sequence[Any]], Any]) -> tuple[list[Outcome], list[int]]:
        """Every answer that the question may have, and the variables that it turned on. The question reads a state, and
        nothing else. Raises `Unordered`, `TooMany`."""
        found: dict[Any, Outcome] = {}
        read: dict[int, None] = {}
        scripts: list[tuple[int, ...]] = [()]
        for tried, script in enumerate(scripts):
            if tried >= MOST:
                raise TooMany
            state = Guess(self, script)
            answer = ask(state)
            read.update(dict.fromkeys(state.chosen))
            for at in range(len(script), len(state.taken)):
                scripts += [(*state.taken[:at], other) for other in range(1, state.width[at])]
            known = found.get(answer)
            if known is None:
                found[answer] = Outcome(answer, tuple(state.over), tuple(state.not_over), 1)
            else:
                found[answer] = known._replace(ways=known.ways + 1)
        return list(found.values()), list(read)


class Guess(Sequence[Any]):
    """A state of that moment, chosen as it is read: the script says which option each variable takes in turn; beyond
    it, the first that goes with what has been chosen."""

    def __init__(self, moment: Moment, script: tuple[int, ...]) -> None:
        self.moment = moment
        self.script = script
        self.taken: tuple[int, ...] = ()
        self.width: list[int] = []
        self.chosen: dict[int, Any] = {}
        self.over: list[Step] = []
        self.not_over: list[Step] = []

    def __len__(self) -> int:
        return len(self.moment.flow.start)

    def __getitem__(self, var: Any) -> Any:
        if var in self.chosen:
            return self.chosen[var]
        fitting = [option for option in self.moment.options(var) if self._fits(option)]
        at = len(self.taken)
        pick = self.script[at] if at < len(self.script) else 0
        option = fitting[pick]
        self.taken = (*self.taken, pick)
        self.width.append(len(fitting))
        if option.after is not None:
            self.over.append(option.after)
        if option.before is not None:
            self.not_over.append(option.before)
        self.chosen[var] = option.value
        return option.value

    def _fits(self, option: Option) -> bool:
        over = [*self.over, *([option.after] if option.after is not None else [])]
        waiting = [*self.not_over, *([option.before] if option.before is not None else [])]
        still = {2 * step.index + 1 for step in waiting}
        return not any(still & self.moment.needed(2 * step.index + 1) for step in over)


def _events(flow: ExcursionFlow) -> list[list[int]]:
    """Per event those that come right before it: a step's end after its start, its start after the ends of what it
    waits for, and what runs beside a step within that."""
    into: list[list[int]] = [[] for _ in range(2 * len(flow.steps))]
    last: dict[int, int] = {}
    for step in flow.steps:
        start = 2 * step.index
        into[start + 1].append(start)
        before = {*flow.predecessors[step.index], *(last[column] for column, _ in step.positions if column in last)}
        into[start] += [2 * one + 1 for one in sorted(before)]
        last.update((column, step.index) for column, _ in step.positions)
    for inner, outer in flow.companions:
        into[2 * inner].append(2 * outer)
        into[2 * outer + 1].append(2 * inner + 1)
    return into
