"""The effects of one step, done on a state, laws judged after each."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from oracles.brute import GROUND, Broken, Cast, Lit, Step, Values, Var, View, World, limits


class Performer:
    """Does the effects of one step on a state, laws judged after each unless ``quiet``."""

    def __init__(self, world: World, step: Step, values: Values, blurred: Iterable[Var], quiet: bool) -> None:
        self.world = world
        self.step = step
        self.view = View(world, values, None, blurred)
        self.values = values
        self.quiet = quiet
        self.cast = cast_of(world, step, self.view)
        self.occupied = occupied(world, step)
        self.doers = [n for n in (step.actor, step.helper) if n]

    def run(self) -> None:
        for lit in self.step.action.makes:
            a, b = self.cast.term(lit.a), self.cast.term(lit.b)
            if lit.b is not None and b is None:
                self._law(False, f"nobody knows where {lit.b} is")
                continue
            self._one(lit, a, b)
            if not self.quiet:
                for reason in limits(self.view):
                    raise Broken(reason)

    def _law(self, good: bool, reason: str) -> None:
        if not good and not self.quiet:
            raise Broken(reason)

    def _contact(self, lit: Lit, others: Iterable[str]) -> None:
        for other in [] if lit.afar else others:
            for doer in self.doers:
                self._law(doer == other or self.view.meet(doer, other), f"no contact: {doer} and {other}")

    def _own(self, holder: str) -> None:
        self._law(self.world.sort(holder) != "actor" or holder in self.occupied, f"{holder} takes no part")

    def _one(self, lit: Lit, a: str, b: str) -> None:
        world, values = self.world, self.values
        if lit.op == "is":
            var = (str(lit.prop), a)
            self._contact(lit, [a])
            values[var] = values[var] - lit.value[1] if isinstance(lit.value, tuple) else lit.value
            self._law(var[0] not in (world.flag(a, "counts") or ()) or values[var] >= 0, f"{var} below nothing")
        elif lit.op in ("from", "to"):
            var = (lit.op, a)
            before = values[var]
            if lit.neg and before != b:
                return
            self._law(lit.neg or world.hold(a, b, None) is not None, f"{a} does not fit {b}")
            others = {b} if lit.neg else {n for n in (before, b) if n}
            for other in others:
                self._own(other)
            self._contact(lit, others)
            values[var] = None if lit.neg else b
            self._loose(a)
        elif ("place", a) in values:
            self._move(lit, a, b)
        elif lit.neg:
            self._detach(lit, a, b)
        else:
            self._attach(lit, a, b)

    def _loose(self, item: str) -> None:
        values = self.values
        ends = [values[e, item] for e in ("from", "to") if (e, item) in values]
        self._law(bool(values["held", item] or any(ends)), f"{item} let go loose")

    def _attach(self, lit: Lit, item: str, holder: str) -> None:
        before = self.values["held", item]
        hold = self.world.hold(item, holder, lit.manner)
        self._law(hold is not None, f"{item} does not fit {holder}")
        if item in self.view.below(holder):
            self._law(False, f"{item} inside itself")
            return
        self._own(holder)
        self._contact(lit, [*(h for _, h in before), holder])
        new = (hold.manner if hold else lit.manner or "on", holder)
        if new not in before:
            self.values["held", item] = (*(h for h in before if h[0] != GROUND), new)
            self._together(item)

    def _detach(self, lit: Lit, item: str, holder: str) -> None:
        before = self.values["held", item]
        after = tuple(h for h in before if not (h[1] == holder and lit.manner in (None, h[0])))
        self._own(holder)
        self._contact(lit, [h for _, h in before] or [holder])
        where = self.view.location(item)
        if after == before:
            return
        if not after and where is not None and self.world.flag(where, "ground"):
            after = ((GROUND, where),)
        self.values["held", item] = after
        self._loose(item)

    def _together(self, item: str) -> None:
        held = self.values["held", item]
        for i, (_, first) in enumerate(held):
            for _, second in held[i + 1 :]:
                self._law(first == second or self.view.meet(first, second), f"{item} in two places: {first}, {second}")

    def _move(self, lit: Lit, actor: str, target: str) -> None:
        values, world = self.values, self.world
        self._own(actor)
        before = values["place", actor]
        if lit.op == "at":
            reaches = world.things[actor].reaches
            self._law(not reaches or target in reaches, f"{actor} does not reach {target}")
            carriers = View(world, values).below(actor) - {actor}
            moving = any(what == "place" and name in carriers for what, name in self.view.blurred)
            self._law(not moving, f"{actor} leaves what is under way")
            values["place", actor] = target
        elif lit.neg:
            if before == target:
                where = self.view.location(actor)
                self._law(where is not None, f"nobody knows where {actor} then is")
                values["place", actor] = where
        else:
            if actor in self.view.below(target):
                self._law(False, f"{actor} inside itself")
                return
            self._law(world.hold(actor, target, None) is not None, f"{actor} does not fit {target}")
            self._law(self.view.meet(actor, target), f"no contact: {actor} and {target}")
            values["place", actor] = target
        for item in world.items if values["place", actor] != before else ():
            if len(values["held", item]) > 1 and actor in self.view.below(item):
                self._together(item)


def occupied(world: World, step: Step) -> list[str]:
    names = [step.actor, step.helper, *(step.args[s] for s in step.action.joined)]
    names += [world.things[n].runner for n in names if n]
    return [n for n in dict.fromkeys(names) if n]


def cast_of(world: World, step: Step, view: View) -> Cast:
    names: dict[str, str | None] = {"actor": step.actor, "helper": step.helper, **step.args}
    return Cast(names, lambda: view.location(step.actor))


def predicted(world: World, step: Step, values: Values) -> dict[Var, Any]:
    """What a step will write, in the order of its effects, with the new values; a property is written even to the value
    it has."""
    after = dict(values)
    Performer(world, step, after, (), True).run()
    props = {(str(m.prop), step.args.get(m.a, m.a)) for m in step.action.makes if m.op == "is"}
    return {v: after[v] for v in targets(world, step) if after[v] != values[v] or v in props}


def targets(world: World, step: Step) -> dict[Var, None]:
    """The variables that the effects speak of, in their order."""
    out: dict[Var, None] = {}
    names = {"actor": step.actor, "helper": step.helper, **step.args}
    for lit in step.action.makes:
        a = names.get(lit.a, lit.a)
        if lit.op == "is":
            out[str(lit.prop), a] = None
        elif lit.op in ("from", "to"):
            out[lit.op, a] = None
        else:
            out["place" if world.sort(a) == "actor" else "held", a] = None
    return out
