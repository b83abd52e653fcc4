"""The same sort of plan for unified-planning's time-triggered validator: gear carried from place to place, one step
after another, each with one condition and two effects."""

from __future__ import annotations

import random
import time
from fractions import Fraction

from unified_planning.engines.plan_validator import TimeTriggeredPlanValidator
from unified_planning.engines.results import ValidationResultStatus
from unified_planning.plans import ActionInstance, TimeTriggeredPlan
from unified_planning.shortcuts import (
    BoolType,
    DurativeAction,
    EndTiming,
    Fluent,
    ObjectExp,
    Problem,
    StartTiming,
    UserType,
    get_environment,
)

from tests.benchmarks.generate import GEAR, PLACES


def validate_chain(steps: int, seed: int = 1) -> float:
    """Seconds of processor time for one validation. Raises AssertionError if the plan is not found valid."""
    get_environment().credits_stream = None
    place, item = UserType("Place"), UserType("Item")
    at = Fluent("at", BoolType(), item=item, place=place)
    carry = DurativeAction("carry", item=item, start=place, goal=place)
    carry.set_fixed_duration(4)
    carry.add_condition(StartTiming(), at(carry.item, carry.start))
    carry.add_effect(StartTiming(), at(carry.item, carry.start), False)
    carry.add_effect(EndTiming(), at(carry.item, carry.goal), True)
    problem = Problem("chain")
    problem.add_fluent(at, default_initial_value=False)
    problem.add_action(carry)
    places = [problem.add_object(f"bay{i}", place) for i in range(PLACES)]
    items = [problem.add_object(f"part{i}", item) for i in range(GEAR)]
    where = {i: i % PLACES for i in range(GEAR)}
    for i, gear in enumerate(items):
        problem.set_initial_value(at(gear, places[where[i]]), True)
    rng = random.Random(seed)
    actions = []
    for number in range(steps):
        part = rng.randrange(GEAR)
        goal = (where[part] + rng.randrange(1, PLACES)) % PLACES
        things = (ObjectExp(items[part]), ObjectExp(places[where[part]]), ObjectExp(places[goal]))
        actions.append((Fraction(5 * number), ActionInstance(carry, things), Fraction(4)))
        where[part] = goal
    problem.add_goal(at(items[0], places[where[0]]))
    plan = TimeTriggeredPlan(actions)
    start = time.process_time()
    result = TimeTriggeredPlanValidator().validate(problem, plan)
    taken = time.process_time() - start
    assert result.status is ValidationResultStatus.VALID
    return taken
