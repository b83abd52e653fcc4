"""The flow analysis against a general planning library: its time-triggered validator judges sampled timings.

Each place, holder and switch of a small plan becomes a fluent; each step a durative action of its own whose needs hold
over the whole duration and whose effects come at the end. Nothing of the compiler or of the other oracles judges here.
"""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

import pytest
import unified_planning as up
from oracles.brute import Lit, Plan, Step, Thing
from oracles.judging import MAY, UNDECIDED, problems_of, world_of
from oracles.timings import CLEAN, Timings
from oracles.vocabulary import OWN_ACTIONS, OWN_KINDS
from oracles.writing import text_of
from unified_planning.engines import TimeTriggeredPlanValidator, ValidationResultStatus
from unified_planning.plans import ActionInstance, TimeTriggeredPlan
from unified_planning.shortcuts import (
    BoolType,
    ClosedTimeInterval,
    DurativeAction,
    EndTiming,
    Fluent,
    MinimizeMakespan,
    Not,
    Object,
    Problem,
    StartTiming,
    UserType,
)

EPSILON = Fraction(1, 10)
VERBS = {a.words[0]: a for a in OWN_ACTIONS}
SEEDS = range(90)


def small_plan(seed: int) -> Plan:
    """Two crew in one place with hooks, moving things about and turning a switch; every place is reached."""
    rng = random.Random(seed)
    things = [
        Thing("deck", "site", {"room": 9}),
        *(Thing(n, "hook", near=("deck",)) for n in ("peg", "nail", "rack")),
        Thing("tap", "valve", {"power": "on"}, near=("deck",)),
        Thing("ops", "desk", place="deck"),
        Thing("ana", "crew", place="deck"),
        Thing("ben", "crew", place="deck"),
    ]
    props = {"mass": 1, "hands": 1, "bolts": 1}
    things += [
        Thing("cup", "load", props, held=(("catch", "peg"),)),
        Thing("pan", "load", props, held=(("catch", "nail"),)),
    ]
    where = {"cup": "peg", "pan": "nail"}
    power = "on"
    steps: list[Step] = []
    for _ in range(rng.randint(3, 6)):
        item = rng.choice(("cup", "pan"))
        who = rng.choice(("ana", "ben"))
        careless = rng.random() < 0.1
        if rng.random() < 0.3:
            if power == "on" or careless:
                steps.append(Step(VERBS["shut"], who, None, {"VALVE": "tap"}))
                power = "off"
            else:
                steps.append(Step(VERBS["scrub"], who, None, {"VALVE": "tap"}))
        elif where[item] in ("ana", "ben") and not careless:
            if rng.random() < 0.4:
                taker = {"ana": "ben", "ben": "ana"}[where[item]]
                steps.append(Step(VERBS["hand"], where[item], None, {"ITEM": item, "TAKER": taker}))
                where[item] = taker
            else:
                spot = rng.choice([s for s in ("peg", "nail", "rack") if s not in where.values()])
                steps.append(Step(VERBS["put"], where[item], None, {"ITEM": item, "HOLDER": spot}))
                where[item] = spot
        else:
            holder = where[item] if where[item] not in ("ana", "ben") else "rack"
            steps.append(Step(VERBS["take"], who, None, {"ITEM": item, "HOLDER": holder}))
            where[item] = who
        last = len(steps) - 1
        if last and rng.random() < rng.choice((0.1, 0.5, 0.9)):
            steps[last].on = (last - 1,)
    return Plan(OWN_KINDS, {t.name: t for t in things}, [], [], steps)


def sampled(plan: Plan, rng: random.Random) -> list[tuple[Fraction, Fraction]]:
    """Start and duration of each step: as early as the text allows, then delayed by chance, no two events at once."""
    ends: list[Fraction] = []
    times: list[tuple[Fraction, Fraction]] = []
    for i, step in enumerate(plan.steps):
        cast = {step.actor, *(step.args[s] for s in step.action.joined)}
        ready = [
            ends[j]
            for j, other in enumerate(plan.steps[:i])
            if j in step.on or cast & {other.actor, *(other.args[s] for s in other.action.joined)}
        ]
        delay = rng.choice((Fraction(0), Fraction(0), Fraction(rng.randint(1, 9))))
        start = max(ready, default=Fraction(0)) + delay + EPSILON * 2 + Fraction(2 * i + 1, 1009)
        lasts = Fraction(rng.randint(1, 8)) + Fraction(2 * i + 2, 2003)
        times.append((start, lasts))
        ends.append(start + lasts)
    return times


class Translation:
    """A plan as a planning problem: X on Y, and the switch. One thing on a hook; two in a crew member's hands."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        item, holder = UserType("movable"), UserType("keeper")
        self.on = Fluent("on", BoolType(), x=item, y=holder)
        self.power = Fluent("power", BoolType())
        self.problem = Problem("outing")
        self.problem.add_fluent(self.on, default_initial_value=False)
        self.problem.add_fluent(self.power, default_initial_value=True)
        self.objects = {n: Object(n, item) for n in ("cup", "pan")}
        self.objects |= {n: Object(n, holder) for n in ("peg", "nail", "rack", "ana", "ben")}
        self.problem.add_objects(self.objects.values())
        for name in ("cup", "pan"):
            self.problem.set_initial_value(self._on(name, plan.things[name].held[0][1]), True)
        self.problem.add_quality_metric(MinimizeMakespan())
        self.actions = [self._action(i, step) for i, step in enumerate(plan.steps)]

    def _on(self, item: str, holder: str) -> Any:
        return self.on(self.objects[item], self.objects[holder])

    def _action(self, i: int, step: Step) -> DurativeAction:
        action = DurativeAction(f"step{i}")
        action.set_closed_duration_interval(0, 1000)
        names = {"actor": step.actor, **step.args}
        whole = ClosedTimeInterval(StartTiming(), EndTiming())
        for need in step.action.needs:
            if need.op != "reach":  # everything here is in reach
                action.add_condition(whole, self._fact(need, names))
        for lit in step.action.makes:
            if lit.op == "is":
                action.add_effect(EndTiming(), self.power, lit.value == "on")
                continue
            item, holder = names[lit.a], names[lit.b]
            if not lit.neg and holder in ("peg", "nail", "rack"):
                other = "pan" if item == "cup" else "cup"
                action.add_condition(whole, Not(self._on(other, holder)))
            action.add_effect(EndTiming(), self._on(item, holder), not lit.neg)
        self.problem.add_action(action)
        return action

    def _fact(self, need: Lit, names: dict[str, str]) -> Any:
        if need.op == "is":
            return self.power() if need.value == "on" else Not(self.power)
        return self._on(names[need.a], names[str(need.b)])

    def valid(self, times: list[tuple[Fraction, Fraction]]) -> bool:
        plan = TimeTriggeredPlan(
            [(start, ActionInstance(action), lasts) for (start, lasts), action in zip(times, self.actions, strict=True)]
        )
        with TimeTriggeredPlanValidator() as validator:
            return bool(validator.validate(self.problem, plan).status == ValidationResultStatus.VALID)


@pytest.fixture(scope="module", autouse=True)
def quiet() -> None:
    up.shortcuts.get_environment().credits_stream = None


def test_sampled_timings_agree() -> None:
    """Clean: every sampled timing is valid. Does not: none is. May not: valid or not, as it comes."""
    kinds = {"clean": 0, "does not": 0, "may not": 0}
    judged = invalid_of_may = 0
    for seed in SEEDS:
        plan = small_plan(seed)
        rng = random.Random(seed)
        rules = [p.rule for p in problems_of(world_of(text_of(plan))) if p.rule != UNDECIDED]
        translation = Translation(plan)
        verdicts = [translation.valid(sampled(plan, rng)) for _ in range(6)]
        judged += len(verdicts)
        if not rules:
            kinds["clean"] += 1
            assert all(verdicts), text_of(plan)
        elif not any(r in MAY for r in rules):
            kinds["does not"] += 1
            assert not any(verdicts), f"{rules}\n{text_of(plan)}"
        else:
            kinds["may not"] += 1
            invalid_of_may += not all(verdicts)
            assert Timings(plan).verdict() != CLEAN, text_of(plan)
    assert min(kinds.values()) >= 5, kinds
    assert invalid_of_may >= kinds["may not"] / 4, (invalid_of_may, kinds)
