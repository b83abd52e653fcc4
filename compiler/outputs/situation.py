"""Reading a state: where a thing is, on what it hangs, who has it, what it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Holding, Thing, World
from jackstay.outputs.wording import holding, label
from jackstay.timing.formulas import location_in, next_up

State = Sequence[Any]


def states(flow: ExcursionFlow) -> Iterator[tuple[Step, list[Any]]]:
    """Each step in the replayed order with the state it leaves; the list is the same one, changed in place."""
    state = list(flow.start)
    for step in flow.steps:
        for change in step.changes:
            state[change.var] = change.after
        yield step, state


def holdings(state: State, thing: Thing) -> tuple[Holding, ...]:
    held: tuple[Holding, ...] = state[thing.held_var] if thing.held_var >= 0 else thing.placed
    return held or ()


def place(state: State, thing: Thing) -> Thing | None:
    """What an actor itself stands on, sits in or rides."""
    return state[thing.place_var] if thing.place_var >= 0 else thing.place


def line_ends(state: State, thing: Thing) -> tuple[Thing | None, Thing | None]:
    first = state[thing.from_var] if thing.from_var >= 0 else thing.from_end
    second = state[thing.to_var] if thing.to_var >= 0 else thing.to_end
    return first, second


def upward(state: State, thing: Thing) -> Iterator[Thing]:
    """What the thing is on or in, what that is on or in, and so on; the first attachment of each."""
    seen = {thing.index}
    while True:
        up = next_up(state, thing)
        if up is None or up.index in seen:
            return
        yield up
        seen.add(up.index)
        thing = up


def bearer(state: State, thing: Thing) -> Thing | None:
    """The first actor on the way up: who has the thing."""
    return next((up for up in upward(state, thing) if up.sort == "actor"), None)


def bearers(state: State, thing: Thing) -> list[Thing]:
    """Who has an item, by each of its attachments and each end of a line: two may have hold of one."""
    held = holdings(state, thing)
    ends = [end for end in line_ends(state, thing) if end is not None and end.sort == "actor"]
    if len(held) < 2:
        one = bearer(state, thing)
        return list(dict.fromkeys([*([one] if one is not None else []), *ends]))
    found = [one.holder if one.holder.sort == "actor" else bearer(state, one.holder) for one in held] + ends
    return list(dict.fromkeys(one for one in found if one is not None))


def at_home(location: Thing) -> bool:
    """Whether a location counts as inside; a fitting does where the places it is reached from all do."""
    return location.kind.inside or (bool(location.near) and all(near.kind.inside for near in location.near))


def is_inside(state: State, thing: Thing) -> bool | None:
    """None: it hangs on nothing, so it cannot be said. Who is nowhere never goes out, and keeps what it has inside."""
    location = location_in(state, thing)
    if location is not None:
        return at_home(location)
    return True if [thing, *upward(state, thing)][-1].sort == "actor" else None


def contents(world: World, state: State, holder: Thing) -> list[tuple[Thing, Holding | None]]:
    """Items and riders directly on or in the holder, in the order the plan declares them."""
    found: list[tuple[Thing, Holding | None]] = []
    for thing in world.things:
        if thing.sort == "location" or thing is holder:
            continue
        if thing.sort == "actor":
            if place(state, thing) is holder:
                found.append((thing, None))
            continue
        found.extend((thing, held) for held in holdings(state, thing) if held.holder is holder)
    return found


def describe(state: State, thing: Thing) -> str:
    """``Pump seat (by bolts), at Pump face``; an actor ``on Rest 1, at Pump face``; a line's ends too."""
    location = location_in(state, thing)
    if thing.sort == "actor":
        stands = place(state, thing)
        if stands is None:
            return "nowhere stated"
        if stands.sort == "location":
            return _at(stands)
        return f"on {label(stands)}" + (f", {_at(location)}" if location is not None else "")
    held = holdings(state, thing)
    parts = [" and ".join(holding(one) for one in held)] if held else []
    first, second = line_ends(state, thing)
    if first is not None or second is not None:
        parts.append(f"from {_end(first)} to {_end(second)}")
    if not parts:
        return "on nothing"
    on_location = len(held) == 1 and held[0].holder is location and location is not None and not location.near
    if location is not None and held and not on_location:
        parts.append(_at(location))
    return ", ".join(parts)


def _end(end: Thing | None) -> str:
    return label(end) if end is not None else "a free end"


def _at(location: Thing) -> str:
    if location.near:
        return "at " + " / ".join(label(near) for near in location.near)
    return f"at {label(location)}"
