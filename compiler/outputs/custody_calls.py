"""Who has what when a call is made, whatever the timing: each place that a thing may then have, surely or maybe."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Mark, Thing, World
from jackstay.outputs.moment import Moment, TooMany, Unordered
from jackstay.outputs.situation import holdings, line_ends
from jackstay.outputs.views import View
from jackstay.timing.formulas import location_in


@dataclass(frozen=True, slots=True)
class Spot:
    """One way in which a thing is somewhere. on: an actor, a container, or a location. manner: how. fitting: whether
    ``on`` is reached from a place, which is then the row it is shown in. others: who else has hold of it."""

    on: Thing
    manner: str
    others: tuple[Thing, ...] = ()

    @property
    def row(self) -> Thing:
        """The actor, container or place that a reader looks under."""
        return self.on.near[0] if self.on.sort == "location" and len(self.on.near) == 1 else self.on


Spots = tuple[Spot, ...]


@dataclass(slots=True)
class Column:
    """A moment: as an excursion begins or ends (call is None), or as a call is made, at the end of its step.

    spots: thing -> each answer that the order allows; one: it is surely so. None: not known, or not decided."""

    title: str
    call: Mark | None
    step: Step | None
    spots: dict[Thing, list[Spots] | None]


class _Bits:
    """A set of events, by the bits of a number."""

    def __init__(self, bits: int) -> None:
        self.bits = bits

    def __contains__(self, event: object) -> bool:
        return isinstance(event, int) and self.bits >> event & 1 == 1


class _Call(Moment):
    """The end of a step, as `Moment` is the start of one."""

    def __init__(self, order: "_Order", step: Step) -> None:
        self.flow, self.step = order.flow, step
        self.into, self.racing, self.writers = order.into, order.racing, order.writers
        self.known = {}
        end = 2 * step.index + 1
        self.past = _Bits(order.past[end])  # type: ignore[assignment]
        self.future = _Bits(order.future[end] & ~(1 << end))  # type: ignore[assignment]


class _Order:
    """What all calls of an excursion share: before and after which events each event surely is, itself included."""

    def __init__(self, flow: ExcursionFlow) -> None:
        first = Moment(flow, flow.steps[0])
        self.flow, self.into, self.racing, self.writers = flow, first.into, first.racing, first.writers
        self.past = [0] * len(self.into)
        self.future = [1 << event for event in range(len(self.into))]
        order = list(self._sorted())
        for event in order:
            bits = 1 << event
            for before in self.into[event]:
                bits |= self.past[before]
            self.past[event] = bits
        for event in reversed(order):
            for before in self.into[event]:
                self.future[before] |= self.future[event]

    def _sorted(self) -> Iterator[int]:
        """Every event after all that come before it."""
        out: list[list[int]] = [[] for _ in self.into]
        left = [len(set(before)) for before in self.into]
        for event, before in enumerate(self.into):
            for one in set(before):
                out[one].append(event)
        ready = [event for event, count in enumerate(left) if count == 0]
        for event in ready:
            yield event
            for later in out[event]:
                left[later] -= 1
                if left[later] == 0:
                    ready.append(later)


def columns_of(world: World, view: View) -> list[Column]:
    """The excursion's start, its calls by their nominal times (no call comes before one that it waits for), its end."""
    flow, times = view.flow, view.times
    assert times is not None
    items = [thing for thing in world.things if thing.sort == "item"]
    made = [Column("start", None, None, {item: [spots_of(flow.start, item)] for item in items})]
    order = _Order(flow) if view.calls else None
    touched = {change.var for step in flow.steps for change in step.changes}
    for index in sorted(view.calls, key=lambda one: (times.end[one], one)):
        step, mark = flow.steps[index], view.calls[index]
        assert order is not None
        moment = _Call(order, step)
        column = Column(mark.name, mark, step, {})
        for item in items:
            column.spots[item] = _answers(moment, item, touched)
        made.append(column)
    made.append(Column("end", None, None, {item: [spots_of(flow.end, item)] for item in items}))
    return made


def _answers(moment: _Call, item: Thing, touched: set[int]) -> list[Spots] | None:
    own = [var for var in (item.held_var, item.from_var, item.to_var) if var >= 0]
    if not touched.intersection(own):
        return [spots_of(moment.flow.start, item)]
    try:
        found, _ = moment.outcomes(lambda state: spots_of(state, item))
    except (Unordered, TooMany):
        return None
    return [outcome.answer for outcome in found]


def spots_of(state: Sequence[Any], thing: Thing) -> Spots:
    """Each attachment of the thing, and whoever has an end of it; of a line that hangs on nothing and nobody, where its
    far end is, else where it is itself."""
    held = holdings(state, thing)
    ends = [end for end in reversed(line_ends(state, thing)) if end is not None]
    found = [Spot(one.holder, one.manner, tuple(other.holder for other in held if other is not one)) for one in held]
    for end in dict.fromkeys(ends):
        if end.sort == "actor":  # tied to them, whoever holds it besides
            found.append(Spot(end, "", tuple(other for other in dict.fromkeys(ends) if other is not end)))
    if found:
        return tuple(found)
    if ends:
        return (Spot(ends[0], "", tuple(ends[1:])),)
    at = location_in(state, thing)
    return (Spot(at, ""),) if at is not None else ()
