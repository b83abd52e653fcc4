"""Small plans with droppable tasks and fallbacks, by chance. The same seed gives the same plan."""

from __future__ import annotations

import random
from dataclasses import replace

from oracles.brute import OWN, Fallback, Kind, Lit, Plan, Step, World
from oracles.effects import occupied
from oracles.generate import Maker, fault
from oracles.timings import CLEAN, Timings, TooMany
from oracles.variants import cuts, is_out, state_after
from oracles.vocabulary import OWN_ACTIONS, OWN_KINDS

MOST_STEPS = 6

# A place that is outside: what was inside must not stay there.
YARD = Kind("yard", "location", (), OWN_KINDS["site"].holds, admits="crew")
KINDS = {**OWN_KINDS, "yard": YARD}
ACTIONS = tuple(
    a._replace(words=tuple(w if isinstance(w, str) or "site" not in w[1] else (w[0], (*w[1], "yard")) for w in a.words))
    for a in OWN_ACTIONS
)


def variants_from(seed: int) -> Plan:
    maker = VariantMaker(random.Random(seed))
    while True:
        plan = maker.plan()
        try:
            if plan.steps and (maker.chance(0.05) or Timings(plan, 1500).verdict() == CLEAN):
                return maker.varied(plan)
        except TooMany:
            continue


class VariantMaker(Maker):
    """Plans that mostly hold as written, so that the question is whether they hold otherwise."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__(rng)
        self.kinds = KINDS
        self.vocabulary = ACTIONS

    def _places(self) -> list[tuple[str, str, int]]:
        paths = super()._places()
        if self.chance(0.5):
            self.things["quay"].kind = "yard"
        return paths

    def _steps(self, plan: Plan) -> None:
        super()._steps(plan)
        plan.steps = plan.steps[: self.rng.choice((3, 4, 5, MOST_STEPS))]
        values = state_after(plan, range(len(plan.steps)), None)
        plan.steps += self._way_home(plan, values)
        del plan.steps[MOST_STEPS:]

    def _way_home(self, plan: Plan, values: dict[tuple[str, str], object]) -> list[Step]:
        """For each of the crew who would be left outside: a way inside."""
        world = World(plan)
        go = next(a for a in self.actions if a.words[0] == "go")
        fly = next(a for a in self.actions if a.words[0] == "fly")
        return [
            Step(go if world.a(a, ("crew",)) else fly, a, None, {"PLACE": "deck"})
            for a in world.actors
            if world.a(a, ("crew", "crane")) and is_out(world, values, a) and not is_out(world, world.start(), a)
        ]

    def _headings(self, plan: Plan) -> None:
        """None: ways that the compiler inserts depend on what is dropped, and are tried elsewhere."""

    def varied(self, plan: Plan) -> Plan:
        what = self.rng.choice(("drops", "drops", "fallbacks", "fallbacks", "both"))
        if what != "fallbacks":
            self._ranks(plan)
        return self._fallbacks(plan) if what != "drops" else plan

    # --- droppable tasks ---------------------------------------------------------------------------------------------

    def _ranks(self, plan: Plan) -> None:
        """Up to four tasks, cut anew; some may be dropped, some of those only go with others."""
        rng = self.rng
        if not plan.after and not plan.done:
            n = len(plan.steps)
            starts = sorted(rng.sample(range(1, n), min(n - 1, rng.choice((1, 2, 2, 3))))) if n > 1 else []
            plan.steps = [replace(s, task=sum(c <= i for c in starts)) for i, s in enumerate(plan.steps)]
            tasks = sorted({s.task for s in plan.steps})
            if len(tasks) > 1 and self.chance(0.2):
                first, second = sorted(rng.sample(tasks, 2))
                plan.after[second] = (first,)
        tasks = sorted({s.task for s in plan.steps})
        for task in tasks:
            if self.chance(0.5):
                plan.ranks[task] = rng.choice(("get-ahead", "wanted"))
        if not plan.ranks:
            plan.ranks[rng.choice(tasks)] = "wanted"
        for task in plan.ranks:
            others = [t for t in plan.ranks if t != task]
            if others and self.chance(0.4):
                plan.along[task] = (rng.choice(others),)

    # --- fallbacks ---------------------------------------------------------------------------------------------------

    def _fallbacks(self, plan: Plan) -> Plan:
        """One or two; a body that works in one of the states that it may begin in, and then the way home."""
        rng = self.rng
        plan.steps = [replace(s, beside=()) for s in plan.steps]
        for _ in range(rng.choice((1, 1, 2))):
            caller = rng.randrange(len(plan.steps))
            fails = self.chance(0.6) and all(f.caller != caller or not f.fails for f in plan.fallbacks)
            fallback = Fallback([], (), caller, fails)
            if fails:
                plan = _may(plan, plan.steps[caller].action)
                self.actions = tuple(
                    next((s.action for s in plan.steps if s.action.words == a.words), a) for a in self.actions
                )
            moments = list(cuts(plan, caller))
            if not moments:
                continue  # the caller never ends: its plan waits in a circle
            over = rng.choice(moments)
            tasks = sorted({s.task for s in plan.steps})
            if self.chance(0.5):
                fallback.then = tuple(rng.sample(tasks, rng.randint(1, len(tasks))))
            self._body(plan, fallback, over)
            plan.fallbacks.append(fallback)
        return plan

    def _body(self, plan: Plan, fallback: Fallback, over: frozenset[int]) -> None:
        rng, world = self.rng, World(plan)
        values = state_after(plan, over, fallback.caller if fallback.fails else None)
        for _ in range(rng.choice((0, 1, 1, 2, 2))):
            for _attempt in range(40):
                step = self._step(world)
                trial = dict(values)
                if step is not None and (not fault(world, step, trial) or self.chance(0.01)):
                    values = trial
                    fallback.steps.append(step)
                    break
        if not fallback.then or not fallback.steps or self.chance(0.5):
            home = self._way_home(plan, values)
            if not fallback.steps and not home:
                wait = next(a for a in self.actions if a.words[0] == "wait")
                home = [Step(wait, "ana", None, {})]
            if self.chance(0.9) or not fallback.steps:
                fallback.steps += home
        q = rng.choice((0.0, 0.5, 1.0))
        last: dict[str, int] = {}
        for i, step in enumerate(fallback.steps):
            cast = occupied(world, step)
            step.on = tuple(OWN + j for j in sorted({j for a, j in last.items() if a not in cast}) if self.chance(q))
            if self.chance(0.12):
                step.on = (*step.on, rng.randrange(len(plan.steps)))
            last.update(dict.fromkeys(cast, i))


def _may(plan: Plan, action: object) -> Plan:
    """The plan with an action that may fail, wherever it stands."""

    def changed(steps: list[Step]) -> list[Step]:
        return [replace(s, action=s.action._replace(may=True)) if s.action == action else s for s in steps]

    return replace(
        plan,
        steps=changed(plan.steps),
        fallbacks=[replace(f, steps=changed(f.steps)) for f in plan.fallbacks],
    )


__all__ = ["Lit", "variants_from"]
