"""Who has been warned of what, and since when in every order.

A warning stands before the step it belongs to: whoever takes part in that step has read it when the step starts. What
a stay's own step, or one that surely follows it, begins is begun warned. A warning in a task that may be dropped counts
for that task alone; a fallback gives its own, but what was going on when it began has been judged in the plan itself.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import Step
from jackstay.flow.stays import Stay
from jackstay.model.records import Hazard, Thing

if TYPE_CHECKING:
    from jackstay.flow.replay import Replay

Key = tuple[Hazard, Thing]


class Warnings:
    """The steps of one replay that stand behind a warning of a hazard."""

    def __init__(self, replay: Replay) -> None:
        self.replay = replay

    @cached_property
    def given(self) -> dict[Key, list[Step]]:
        """hazard and actor -> the steps before which the actor is warned of it."""
        out: dict[Key, list[Step]] = {}
        replay = self.replay
        for i, entry in enumerate(replay.order.entries):
            hazards = [hazard for remark in entry.remarks for hazard in remark.of]
            main = replay.main.get(i)
            if not hazards or main is None or entry.task in replay.dropped:
                continue
            step = replay.flow.steps[main]
            if step.entry is not entry:
                continue  # a heading with nothing to do: it has no step of its own
            for hazard in hazards:
                for actor in entry.cast:
                    out.setdefault((hazard, actor), []).append(step)
        return out

    @cached_property
    def fallback(self) -> bool:
        """Whether this replay is of a fallback, from a state within the plan."""
        tasks = set(map(id, self.replay.flow.excursion.tasks))
        return any(id(entry.task) not in tasks for entry in self.replay.order.entries)

    def unwarned(self, hazard: Hazard, binding: tuple[Any, ...], chains: list[list[Stay]]) -> list[list[Stay]]:
        """The stays that do not begin warned: an exposure is warned of when one of its stays does."""
        warned = [step for slot in hazard.warned for step in self.given.get((hazard, binding[slot.index]), ())]
        if not warned:
            return chains
        return [[stay for stay in chain if not _begins_after(stay, warned)] for chain in chains]

    def begun_here(self, stays: list[Stay]) -> bool:
        """Whether an exposure begins in what is replayed here."""
        return not self.fallback or any(stay.start is not None for stay in stays)


def _begins_after(stay: Stay, warned: list[Step]) -> bool:
    start = stay.start
    return start is not None and any(
        (step is start or happens_before(step, start)) and _kept_with(step, start) for step in warned
    )


def _kept_with(step: Step, start: Step) -> bool:
    """Whether the warning's step is flown wherever the other is."""
    task = step.entry.task
    sure = task.rank == "required" and task.guard is None
    return sure or task is start.entry.task or task in start.entry.task.along_with
