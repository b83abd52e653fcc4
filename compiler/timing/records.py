"""What the timing stage hands on: how long each step takes, when it starts and ends, what it waits for."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING, Any, NamedTuple

from jackstay.model.records import Mark, Thing


class Triple(NamedTuple):
    """A duration in seconds, ``least <= likely <= most``. Three equal numbers are certain; else nature chooses."""

    least: Fraction
    likely: Fraction
    most: Fraction

    @property
    def certain(self) -> bool:
        return self.least == self.most


class Delay(NamedTuple):
    """One actor standing still before a step, in seconds.

    step: the index of the step that cannot start yet. cause: the index of the step that lets it start, or, for
    ``within``, of the step that must not come too long after it (None: the clock or the light). mark: the call waited
    for, if the cause is one. together: the cause is what another of the step's own cast still has to finish.
    why: ``""`` (another step), ``not-before``, ``light`` or ``within``."""

    actor: Thing
    step: int
    since: Fraction
    until: Fraction
    cause: int | None
    mark: Mark | None
    together: bool
    why: str = ""


class Stretch(NamedTuple):
    """A step kept open beyond its duration by one that runs beside it (``while``), in seconds."""

    step: int
    companion: int
    by: Fraction


class Run(NamedTuple):
    """One way that an excursion goes: when its steps start and end, and its own clock starts and stops. Whole ticks
    from its start, ``scale`` to the second."""

    start: Sequence[int]
    end: Sequence[int]
    scale: int
    clock_zero: int
    clock_end: int


class Times:
    """Nominal times of one excursion's steps, in seconds from its start, exact; lists run along the flow's steps.

    Every step starts as early as the order, ``not before``, the light and ``within`` allow, if each takes its likely
    time. durations: the likely ones, None where neither the plan nor the vocabulary gives one. Such a step adds nothing
    to the numbers, so every time after it is only a lower bound: ``start_open`` and ``end_open`` say which.

    latest_start, latest_end: as late as may be without moving the end of the excursion, or missing a ``by`` or a
    ``within`` that the nominal times keep. slack: how much later a step may start, ``latest_start - start``.
    critical: one chain of steps, in order, from the start (or from what waits for the clock or the light) to the end,
    each beginning as the one before it lets it.
    actor_end: when each actor's last step ends; actor_open: whether that is a lower bound.
    clock_zero, clock_end: when the excursion's own clock starts and stops; its limit counts between them.

    run: the same in ticks. Each of the others is worked out when it is first asked for: a check asks for few."""

    run: Run
    durations: tuple[Fraction | None, ...]
    triples: tuple[Triple | None, ...]
    start: tuple[Fraction, ...]
    end: tuple[Fraction, ...]
    start_open: tuple[bool, ...]
    end_open: tuple[bool, ...]
    makespan: Fraction
    makespan_open: bool
    latest_start: tuple[Fraction, ...]
    latest_end: tuple[Fraction, ...]
    slack: tuple[Fraction, ...]
    critical: tuple[int, ...]
    clock_zero: Fraction
    clock_end: Fraction
    actor_end: dict[Thing, Fraction]
    actor_open: dict[Thing, bool]
    delays: tuple[Delay, ...]
    stretches: tuple[Stretch, ...]

    def __init__(self, run: Run, parts: Mapping[str, Callable[[Times], Any]]) -> None:
        """parts: how to work out each of the others."""
        self.run = run
        self._parts = parts

    if not TYPE_CHECKING:

        def __getattr__(self, name: str) -> Any:
            if name == "_parts" or name not in self._parts:
                raise AttributeError(name)
            value = self._parts[name](self)
            setattr(self, name, value)
            return value
