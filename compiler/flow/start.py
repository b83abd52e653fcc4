"""The written start: is the configuration that the files describe one that the laws allow?"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.laws import Distances, Laws, fitting_hold
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import GROUND, Thing, World


def check_start(world: World, state: State, distances: Distances) -> list[Problem]:
    """Problems of the written configuration, at the declarations."""
    out: list[Problem] = []
    judge = Judge(world, state)
    circled: set[Thing] = set()
    laws = Laws(world, state, judge, distances)
    over: set[tuple[int, int]] = set()
    for thing in world.things:
        over |= state.over
        state.over = set()  # told for each thing here, and then for the last one only

        def tell(rule: str, thing: Any = thing, **facts: Any) -> None:
            out.append(Problem(rule, thing.decl, {"thing": thing, "flow": None, "step": None, **facts}))

        laws.tell = lambda rule, tell=tell, **facts: tell(rule, **{k: v for k, v in facts.items() if k != "thing"})
        laws.quiet = False
        if thing.sort != "item":
            if thing.sort == "actor" and thing.place is None:
                tell("placed-nowhere")
            elif thing.sort == "actor" and thing.place is not None and thing.place.sort == "location":
                laws._room(thing.place, thing, "")
            if thing.place is not None:
                laws._sums(thing.place, thing, "")
            continue
        if not thing.placed and not (thing.from_var >= 0 and (thing.from_end or thing.to_end)):
            tell("placed-nowhere")
            continue
        walk = [node for node, _ in state.chain(thing)]
        if thing in walk[1:]:
            if circled.isdisjoint(walk):  # one circle, one finding
                circled.update(walk)
                tell("inside-itself", holder=thing.placed[0].holder if thing.placed else thing, text="")
            continue
        for holding in thing.placed:
            hold = fitting_hold(thing, holding.holder, holding.manner)
            if hold is None and holding.manner == GROUND and holding.holder.kind.ground:
                continue
            if hold is None:
                tell("does-not-fit", holder=holding.holder, manner=holding.manner, text="")
                continue
            laws._count(holding.holder, hold, thing, "")
        for end in (thing.from_end, thing.to_end):
            if end is not None and not any(h.kind is None or thing.kind.is_a(h.kind) for h in end.kind.holds):
                tell("does-not-fit", holder=end, manner=None, text="")
        laws._together(thing, "")
        for holding in thing.placed:
            laws._sums(holding.holder, thing, "")
        laws._lines_of(thing, "")
        for prop, total in thing.totals.items():
            value = thing.values.get(prop)
            if isinstance(value, Fraction) and (value < 0 or value > total):
                tell("impossible-count", prop=prop, before=value, after=value, total=total, text="")
    state.over |= over
    return _once(out)


def _once(problems: list[Problem]) -> list[Problem]:
    """A full holder is full for each thing it holds: say it for the last one only."""
    seen: set[tuple[str, int]] = set()
    out = []
    for problem in reversed(problems):
        holder = problem.facts.get("holder") or problem.facts.get("place")
        key = (
            problem.rule,
            id(holder)
            if holder is not None and problem.rule in ("holder-full", "too-much", "crowded")
            else id(problem),
        )
        if key not in seen:
            seen.add(key)
            out.append(problem)
    return out[::-1]
