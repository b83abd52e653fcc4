"""Steps that themselves say where their doer is then: they follow the paths, as what is inserted does.

Who is carried, by whatever means, follows no path; neither does what reaches its places without one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jackstay.flow.laws import Distances
from jackstay.flow.records import Step
from jackstay.flow.state import is_at
from jackstay.model.records import Action, Thing

if TYPE_CHECKING:
    from jackstay.flow.replay import Replay


def check_moves(replay: Replay, step: Step, action: Action, binding: tuple[Any, ...]) -> None:
    """Report ``no-way`` and ``no-line-for-path`` for a written step, before its effects; what it goes by is read."""
    judge, state = replay.judge, replay.state
    if any(service.along_paths for service in action.serves):
        return  # left as it is written: its way is not looked at here
    start: Thing | None = None
    for effect in action.effects:
        test = effect.test
        if test.op != "located" or test.negated or test.b is None or effect.from_afar:
            continue
        keep = len(judge.reads)
        actor, place = judge.term(test.a, binding), judge.term(test.b, binding)
        if actor is None or place is None or actor not in binding[:2] or actor.place_var < 0 or actor.reaches:
            continue
        if start is None:
            judge.reads += [var for _, var in state.chain(actor) if var >= 0]
            start = state.location(actor)
        if replay.laws.quiet or not state.doubtful.isdisjoint(judge.reads[keep:]):
            return
        if start is not None and not is_at(start, place) and not _go(replay, step, actor, start, place):
            return
        start = place


def _go(replay: Replay, step: Step, actor: Thing, start: Thing, place: Thing) -> bool:
    """Whether the actor may go there from here, along paths and on the lines that they demand."""
    facts: dict[str, Any] = {"flow": replay.flow, "entry": step.entry, "actor": actor, "step_before": step.index}
    legs = replay.inserter.way(start, place) if joined(replay.inserter.distances, start, place) else None
    if legs is None:
        replay._tell("no-way", step.entry.at, place=place, start=start, **facts)
        replay.laws.quiet = True  # where the actor is then is in doubt; without its line, it is there
        return False
    for leg in legs:
        if leg.demand is None or leg.demand.line_kind is None:
            continue
        on_it, change, lines = replay.inserter.line_for(leg.demand, actor)
        if not on_it:
            facts.update(path=leg.demand, lines=lines, choice=change, start=leg.places[0])
            replay._tell("no-line-for-path", step.entry.at, **facts)
            return False
    return True


def joined(distances: Distances, start: Thing, place: Thing) -> bool:
    """Whether a chain of paths leads from one place to another without leading home in between."""
    goals = {place.index, *(near.index for near in place.near)}
    queue = [start, *start.near]
    seen = {one.index for one in queue}
    first = len(queue)
    for number, at in enumerate(queue):
        if at.index in goals:
            return True
        if at.kind.inside and number >= first:
            continue  # who comes there is home
        for _, other, _ in distances.edges.get(at.index, ()):
            if other.index not in seen:
                seen.add(other.index)
                queue.append(other)
    return False
