"""Plans with many droppable tasks, by chance: each may be left out alone, and the question is whether together.

The same seed gives the same plan. Some are flown in two excursions.
"""

from __future__ import annotations

import random
from dataclasses import replace

from oracles.brute import Plan, Step, Values, View, World, limits
from oracles.effects import occupied
from oracles.generate import fault
from oracles.generate_variants import VariantMaker
from oracles.variants import settled

TASKS = (5, 5, 6, 7)


def sets_from(seed: int) -> tuple[Plan, int]:
    """A plan, and the first task of its second excursion (0: there is one only). Every third is written with headings:
    then the ways depend on what is left out, and a plan read step by step is no judge of it."""
    maker = SetMaker(random.Random(seed))
    while True:
        plan = maker.many()
        if plan is not None:
            tasks = sorted({s.task for s in plan.steps})
            second = maker.rng.choice(tasks[1:]) if maker.chance(0.4) else 0
            for thing in plan.things.values():
                if second and thing.kind == "yard":
                    thing.kind = "site"  # what is outside in between is tried elsewhere
            if seed % 3 == 2:
                maker.head(plan)
            return settled(plan), second


class SetMaker(VariantMaker):
    """Adds one task after the other; each works nominally and (mostly) with any one of those before left out."""

    def many(self) -> Plan | None:
        rng = self.rng
        self.theme = rng.choice((*self.themes, "", "", ""))
        self.actions = self.vocabulary
        while True:
            self.things = {}
            paths = self._places()
            self._actors()
            self._items()
            plan = Plan(self.kinds, self.things, paths, [], [])
            world = World(plan)
            if next(limits(View(world, world.start())), None) is None:
                break
        self.busy = set()
        wanted = rng.choice(TASKS)
        states: dict[int, Values] = {-1: dict(world.start())}  # -1: nominal; else without that task
        made: list[list[Step]] = []
        for _ in range(wanted + rng.choice((1, 2))):
            found = self._task(world, plan, states, made)
            if found is None:
                continue
            task = len(made)
            required = len(plan.ranks) >= wanted or self.chance(0.2)
            if not required:
                states[task] = dict(states[-1])
                plan.ranks[task] = rng.choice(("get-ahead", "wanted"))
            for number, values in states.items():
                if number != task:
                    for step in found:
                        fault(world, step, values)
            made.append(found)
            plan.steps += [replace(s, task=task) for s in found]
        if len(plan.ranks) < 4 or len(plan.steps) > 14:
            return None
        self._in_order(plan)
        if self.chance(0.4):
            rule = self._rule()
            if rule is not None:
                plan.rules.append(rule)
        for task in plan.ranks:
            others = [t for t in plan.ranks if t != task]
            if self.chance(0.06):
                plan.along[task] = (rng.choice(others),)
        return plan

    def head(self, plan: Plan) -> None:
        called = {n for s in plan.steps for n in s.on}
        for i, step in enumerate(plan.steps):
            moves = step.action.serves and not step.helper and i not in called
            if moves and (step.actor != "boom" or step.args["PLACE"] in plan.things["boom"].reaches):
                step.heading = self.chance(0.8)

    def _task(self, world: World, plan: Plan, states: dict[int, Values], made: list[list[Step]]) -> list[Step] | None:
        for _ in range(30):
            if made and self.chance(0.35):
                steps = [replace(s) for s in self.rng.choice(made)]  # once more the same
            else:
                steps = [s for s in (self._step(world) for _ in range(self.rng.choice((1, 1, 2, 2)))) if s is not None]
            careless = self.chance(0.01)
            if steps and all(self._works(world, steps, dict(v)) or careless for v in states.values()):
                self.busy = {*self.busy, *(x for s in steps for x in (*s.args.values(), s.actor))}
                return steps
        return None

    def _works(self, world: World, steps: list[Step], values: Values) -> bool:
        return not any(fault(world, step, values) for step in steps)

    def _in_order(self, plan: Plan) -> None:
        """Who comes later waits for the others, always or mostly."""
        world, last = World(plan), {}
        q = self.rng.choice((1.0, 1.0, 1.0, 0.9, 0.6))
        for i, step in enumerate(plan.steps):
            cast = occupied(world, step)
            step.on = tuple(sorted({j for a, j in last.items() if a not in cast and self.chance(q)}))
            last.update(dict.fromkeys(cast, i))
