"""What several outputs need to know of an excursion, worked out once: times, each actor's list, who waits where."""

from __future__ import annotations

from dataclasses import dataclass, field

from jackstay.flow.records import ExcursionFlow, Flow, Step
from jackstay.model.records import Entry, Excursion, Mark, Thing, Wait, World
from jackstay.timing.durations import entry_steps
from jackstay.timing.records import Delay, Times
from jackstay.timing.schedule import schedule

NOT_WORKED_OUT = "NOT WORKED OUT: the order of this excursion is circular, so its steps have no order and no times."

NOT_FOLLOWED = (
    "The plan was not followed step by step, because some of its lines or names are not understood. Check it and put "
    "those right first."
)


@dataclass(frozen=True, slots=True)
class View:
    """times: None where the order is circular. own: each actor's steps in its own order.
    of_entry: an entry's steps by the entry's index. waits, beside: by step index,
    the calls that this very step (of its entry) waits for or runs beside. calls: by step index, the call at its end."""

    world: World
    flow: ExcursionFlow
    number: int
    times: Times | None
    own: dict[Thing, list[Step]]
    of_entry: dict[int, list[Step]]
    waits: dict[int, tuple[Wait, ...]]
    beside: dict[int, tuple[Wait, ...]]
    calls: dict[int, Mark]
    delays: dict[tuple[Thing, int], Delay] = field(default_factory=dict)

    @property
    def excursion(self) -> Excursion:
        return self.flow.excursion


def views_of(flow: Flow) -> list[View]:
    return [_view(flow.world, one, number) for number, one in enumerate(flow.excursions, start=1)]


def _view(world: World, flow: ExcursionFlow, number: int) -> View:
    times = schedule(flow)
    own: dict[Thing, list[Step]] = {member.actor: [] for member in flow.excursion.crew}
    for step in flow.steps:
        for actor in step.cast:
            own.setdefault(actor, []).append(step)
    waits: dict[int, tuple[Wait, ...]] = {}
    beside: dict[int, tuple[Wait, ...]] = {}
    calls: dict[int, Mark] = {}
    of_entry = entry_steps(flow)
    for steps in of_entry.values():
        entry = steps[0].entry
        for wait in entry.waits:
            for step in _who_waits(flow, steps, wait):
                waits[step.index] = (*waits.get(step.index, ()), wait)
        if entry.beside:
            beside[steps[0].index] = entry.beside
        if entry.says is not None:
            calls[main_step(steps).index] = entry.says
    delays = {(delay.actor, delay.step): delay for delay in times.delays} if times is not None else {}
    return View(world, flow, number, times, own, of_entry, waits, beside, calls, delays)


def main_step(steps: list[Step]) -> Step:
    """The written step of an entry; of an arrival, the last of its way."""
    return next((step for step in reversed(steps) if not step.inserted), steps[-1])


def is_anchor(view: View, actor: Thing, step: Step) -> bool:
    """Whether an entry's remarks, bounds and reasons stand at this step of the actor: the written step itself; of an
    arrival, the first step of the actor's own way."""
    steps = view.of_entry[step.entry.index]
    if step.entry.action is not None or step.entry.hole:
        return main_step(steps) is step
    return next((one for one in steps if actor in one.cast), step) is step


def _who_waits(flow: ExcursionFlow, steps: list[Step], wait: Wait) -> list[Step]:
    """The steps of an entry that stand still for the call; if the order does not show it, the first of each chain."""
    found = [
        step for step in steps if any(flow.steps[p].entry is wait.mark.entry for p in flow.predecessors[step.index])
    ]
    if found:
        return found
    first: dict[Thing | None, Step] = {}
    for step in steps:
        first.setdefault(step.cast[0] if step.cast else None, step)
    return list(first.values())


def is_idle(step: Step) -> bool:
    """An arrival where the actor already is: nothing to do."""
    return step.action is None and not step.entry.hole


def is_written(step: Step) -> bool:
    """A step that a person has to do and tick off: written in the plan, or a hole in it."""
    return not step.inserted and not is_idle(step)


def others(cast: tuple[Thing, ...], actor: Thing) -> list[Thing]:
    return [one for one in cast if one is not actor]


def leads(entry: Entry, actor: Thing) -> bool:
    return bool(entry.cast) and entry.cast[0] is actor
