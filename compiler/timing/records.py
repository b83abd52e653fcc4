"""What the timing stage hands on: the duration of each step, and when it starts and ends at the earliest."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from jackstay.model.records import Mark, Thing


class Delay(NamedTuple):
    """One actor standing still before a step, in seconds.

    step: the index of the step that cannot start yet. cause: the index of the step that lets it start (None: the clock,
    by a ``not before``). mark: the call waited for, if the cause is one. together: the cause is what another of the
    step's own cast still has to finish."""

    actor: Thing
    step: int
    since: Fraction
    until: Fraction
    cause: int | None
    mark: Mark | None
    together: bool


class Stretch(NamedTuple):
    """A step kept open beyond its duration by one that runs beside it (``while``), in seconds."""

    step: int
    companion: int
    by: Fraction


@dataclass(frozen=True, slots=True)
class Times:
    """Earliest times of one excursion's steps, in seconds from its start, exact; lists run along the flow's steps.

    durations: None where neither the plan nor the vocabulary gives one. Such a step adds nothing to the numbers, so
    every time after it is only a lower bound: ``start_open`` and ``end_open`` say which. actor_end: when each actor's
    last step ends; actor_open: whether that is a lower bound."""

    durations: tuple[Fraction | None, ...]
    start: tuple[Fraction, ...]
    end: tuple[Fraction, ...]
    start_open: tuple[bool, ...]
    end_open: tuple[bool, ...]
    makespan: Fraction
    makespan_open: bool
    actor_end: dict[Thing, Fraction]
    actor_open: dict[Thing, bool]
    delays: tuple[Delay, ...]
    stretches: tuple[Stretch, ...]
