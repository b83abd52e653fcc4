"""What somebody has on them at a moment: by each manner in which they can hold, and the lines they are on."""

from __future__ import annotations

from jackstay.model.records import Thing, World
from jackstay.outputs.situation import State, contents, line_ends
from jackstay.outputs.wording import label

DEEP = 6
NOTHING = "nothing"


def on_me(world: World, state: State, actor: Thing) -> tuple[tuple[str, str], ...]:
    """(manner, things with what is in them) in the order in which the actor's kind holds, then ``line``. A manner of
    limited room that is empty says so: free hands are news."""
    held: dict[str, list[str]] = {hold.manner: [] for hold in actor.kind.holds if not (hold.kind and hold.kind.ends)}
    room = {hold.manner for hold in actor.kind.holds if hold.limit is not None}
    for thing, holding in contents(world, state, actor):
        if holding is not None:
            held.setdefault(holding.manner, []).append(_with_content(world, state, thing))
    rows = [(manner, ", ".join(found) or NOTHING) for manner, found in held.items() if found or manner in room]
    lines = []
    for thing in world.things:
        if thing.kind.ends and actor in line_ends(state, thing):
            other = next((end for end in line_ends(state, thing) if end is not actor), None)
            lines.append(f"{label(thing)} from {label(other) if other is not None else 'a free end'}")
    return (*rows, *((("line", ", ".join(lines)),) if lines else ()))


def _with_content(world: World, state: State, thing: Thing, depth: int = 0) -> str:
    if depth > DEEP:
        return label(thing)
    inner = [_with_content(world, state, one, depth + 1) for one, _ in contents(world, state, thing)]
    return label(thing) + (f" ({', '.join(inner)})" if inner else "")


def tools_of(step_action: object, binding: tuple[object, ...]) -> list[Thing]:
    """The things that a step uses: those its action's ``uses`` clauses are about."""
    found: list[Thing] = []
    for test in getattr(step_action, "uses", ()):
        at = getattr(test.a, "index", -1)
        thing = test.a if isinstance(test.a, Thing) else binding[at] if 0 <= at < len(binding) else None
        if isinstance(thing, Thing) and thing not in found:
            found.append(thing)
    return found
