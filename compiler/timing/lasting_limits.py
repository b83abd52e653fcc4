"""How long a rule lets something be, where that is worked out from things: ``longer than no-stop(depth of WHO)``.

At no moment may the state of affairs have lasted for longer than what the formula says at that moment. While a step
changes what the formula reads, both the old and the new value count, and so the smaller limit of the two.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import product
from typing import Any, NamedTuple

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Measure, PropertyValue, Slot, Thing
from jackstay.timing.cells import Possible
from jackstay.timing.formulas import evaluate, leaves
from jackstay.timing.gaps import minutes
from jackstay.timing.truth import Case, Held, moments

MOST_VALUES = 2_000


class Exceeded(NamedTuple):
    """seconds: for how long it has lasted then. ended: whether it is over then. limit: what was allowed."""

    seconds: Fraction
    ended: bool
    limit: Measure


class Limits:
    """The limit of one case in one excursion. reads: the variables that its formula reads."""

    def __init__(self, flow: ExcursionFlow, case: Case) -> None:
        self.flow = flow
        self.case = case
        self.constant = case.rule.longer_than or case.rule.every
        self.reads = [] if self.constant is not None else list(dict.fromkeys(self._variables()))
        self.changing: dict[int, list[tuple[Step, Any]]] = {var: [] for var in self.reads}
        for step in flow.steps if self.reads else ():
            for change in step.changes:
                if change.var in self.changing:
                    self.changing[change.var].append((step, change.after))

    def _variables(self) -> Iterator[int]:
        formula = self.case.rule.longer_by
        assert formula is not None
        for leaf in leaves(formula):
            if isinstance(leaf, PropertyValue):
                thing = self.case.binding[leaf.term.index] if isinstance(leaf.term, Slot) else leaf.term
                if isinstance(thing, Thing) and leaf.prop in thing.prop_vars:
                    yield thing.prop_vars[leaf.prop]

    def at(self, values: Sequence[Any]) -> Fraction | None:
        """The limit in one state, in seconds; None where it has no value."""
        if self.constant is not None:
            return self.constant.value
        assert self.case.rule.longer_by is not None
        return evaluate(self.case.rule.longer_by, values, self.case.binding)

    def measure(self, value: Fraction) -> Measure:
        return self.constant if self.constant is not None else Measure(value, (), minutes(value))

    def _least(self, values: list[Any], options: list[list[Any]]) -> Fraction | None:
        """The smallest limit over all choices for the variables that are read; None where one has no value."""
        count = 1
        for option in options:
            count *= len(option)
        if count > MOST_VALUES:
            return None
        found: list[Fraction] = []
        for chosen in product(*options):
            for var, value in zip(self.reads, chosen, strict=True):
                values[var] = value
            limit = self.at(values)
            if limit is None:
                return None
            found.append(limit)
        return min(found)

    def least(self, one: Possible | None = None) -> Fraction | None:
        """The smallest that it may be while a stretch runs, in any timing; None where it may have no value."""
        if self.constant is not None:
            return self.constant.value
        values = list(self.flow.start)
        return self._least(values, [self._during(var, one) for var in self.reads])

    def _during(self, var: int, one: Possible | None) -> list[Any]:
        before = self.flow.start[var]
        found: list[Any] = []
        for step, after in self.changing[var]:
            steps = self.flow.steps
            if one is not None and one.began is not None and happens_before(step, steps[one.began >> 1]):
                before = after
            elif one is None or one.ended is None or not happens_before(steps[one.ended >> 1], step):
                found.append(after)
        return list(dict.fromkeys([before, *found]))

    def course(
        self, start: Sequence[Fraction], end: Sequence[Fraction]
    ) -> list[tuple[Fraction, Fraction | None, Fraction | None]]:
        """From when until when (None: the end) which limit holds, by these times of the steps."""
        values = list(self.flow.start)
        flux: dict[int, Any] = {}
        found: list[tuple[Fraction, Fraction | None, Fraction | None]] = []
        since = Fraction(0)
        for at, begins, ends in moments(self.flow, start, end) if self.reads else ():
            if at > since:
                found.append((since, at, self._now(values, flux)))
                since = at
            for step in (*begins, *ends):
                for change in step.changes:
                    if change.var not in self.changing:
                        continue
                    if end[step.index] > at:
                        flux[change.var] = change.after
                    else:
                        flux.pop(change.var, None)
                        values[change.var] = change.after
        return [*found, (since, None, self._now(values, flux))]

    def _now(self, values: list[Any], flux: dict[int, Any]) -> Fraction | None:
        options = [[values[var], flux[var]] if var in flux else [values[var]] for var in self.reads]
        return self._least(list(values), options)

    def exceeded(
        self, held: Held, before: Fraction, start: Sequence[Fraction], end: Sequence[Fraction]
    ) -> tuple[Exceeded | None, bool]:
        """Where a stretch first lasts too long, or else at its end if only there; and whether its limit has a value
        throughout. before: seconds that it has lasted when this excursion's part of it begins."""
        known = True
        worst: Exceeded | None = None
        for since, until, limit in self.course(start, end):
            stop = held.until if until is None else min(until, held.until)
            if stop <= max(since, held.since):
                continue
            if limit is None:
                known = False
                continue
            lasted = before + stop - held.since
            if lasted > limit and (worst is None or lasted - limit > worst.seconds - worst.limit.value):
                worst = Exceeded(lasted, stop == held.until, self.measure(limit))
        return worst, known
