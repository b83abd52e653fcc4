"""Order, races and meeting stays as z3 has them: the start and the end of every step are real numbers.

Nothing of the compiler's order is asked: the constraints are read off the plan's description.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from itertools import combinations, product

import z3
from oracles.brute import Lit, Plan, Rule, Step, Thing, World
from oracles.effects import occupied
from oracles.generate import plan_from
from oracles.judging import problems_of, world_of
from oracles.orders import flown, random_order
from oracles.vocabulary import OWN_ACTIONS, OWN_KINDS
from oracles.writing import text_of

from jackstay.flow.clocks import happens_before
from jackstay.flow.races import find_races
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.records import Step as Done

_ACTIONS = {a.words[:2]: a for a in OWN_ACTIONS}


class Reals:
    """The timings of a plan, as constraints on reals."""

    def __init__(self, plan: Plan) -> None:
        n = len(plan.steps)
        self.start = [z3.Real(f"start{i}") for i in range(n)]
        self.end = [z3.Real(f"end{i}") for i in range(n)]
        self.solver = z3.Solver()
        world = World(plan)
        casts = [set(occupied(world, step)) for step in plan.steps]
        for i, step in enumerate(plan.steps):
            self.solver.add(self.start[i] < self.end[i])
            for j in range(i):
                if casts[i] & casts[j]:
                    self.solver.add(self.end[j] <= self.start[i])
            for j in step.on:
                self.solver.add(self.end[j] <= self.start[i])
            for m in step.beside:
                self.solver.add(self.start[m] <= self.start[i], self.end[i] <= self.end[m])
            for j, other in enumerate(plan.steps):
                if other.task in plan.after.get(step.task, ()):
                    self.solver.add(self.end[j] <= self.start[i])

    def can(self, *more: z3.BoolRef) -> bool:
        """Whether some timing is like that."""
        found = self.solver.check(*more)
        assert found != z3.unknown
        return bool(found == z3.sat)

    def surely_before(self, i: int, j: int) -> bool:
        return not self.can(self.start[j] < self.end[i])

    def overlap(self, i: int, j: int) -> bool:
        return self.can(self.start[i] < self.end[j], self.start[j] < self.end[i])


def compare_order(plan: Plan, one: ExcursionFlow, steps: dict[int, Done], counts: Counter[str]) -> str:
    """What is wrong with the order and the races of a plan; empty if nothing is. One step each for the written ones."""
    reals = Reals(plan)
    if not one.complete or not reals.can():
        counts["circular"] += 1
        return "" if one.complete == reals.can() else "only one of the two finds a circle"
    if len(steps) != len(plan.steps) or len(one.steps) != len(steps):
        counts["more steps than written"] += 1
        return ""
    ordered = {(i, j): reals.surely_before(i, j) for i in steps for j in steps if i != j}
    for (i, j), wanted in ordered.items():
        counts["ordered" if wanted else "not ordered"] += 1
        if happens_before(steps[i], steps[j]) != wanted:
            return f"step {i} before step {j}: z3 says {wanted}"
    racing: set[int] = set()
    for i, j in combinations(steps, 2):
        both = _touched_by_both(steps[i], steps[j])
        if both and reals.overlap(i, j):
            racing |= both
            counts["pairs that race"] += 1
        elif both:
            counts["pairs kept apart"] += 1
            if not (ordered[i, j] or ordered[j, i]) and not plan.steps[i].beside and not plan.steps[j].beside:
                return f"steps {i} and {j} do not overlap, and may come in either order"
    found = {race.var for race in find_races(one)}
    return "" if found == racing else f"variables that race: {sorted(found)}, z3 says {sorted(racing)}"


def _touched_by_both(a: Done, b: Done) -> set[int]:
    """The variables that both touch, one of them changing."""
    first, second = {c.var for c in a.changes}, {c.var for c in b.changes}
    return (first & (second | set(b.reads))) | (second & set(a.reads))


# --- rules of two and three literals ---------------------------------------------------------------------------------


def switching(seed: int) -> Plan:
    """Valves switched on and off again and again, each in a fixed order; never two or three on at once, or one off
    while others are on."""
    rng = random.Random(seed)
    valves = ("tap", "jet", "vent")[: rng.choice((2, 3))]
    desks = ("ops1", "ops2", "ops3")[: rng.choice((1, 2, 3))]
    things = {"deck": Thing("deck", "site", {"room": 9}), "ana": Thing("ana", "crew", place="deck")}
    things |= {d: Thing(d, "desk", place="deck") for d in desks}
    power = {v: rng.choice(("on", "off", "off")) for v in valves}
    things |= {v: Thing(v, "valve", {"power": power[v]}, near=("deck",)) for v in valves}
    steps: list[Step] = []
    last: dict[str, int] = {}
    for i in range(rng.randint(3, 9)):
        valve = rng.choice(valves)
        power[valve] = {"on": "off", "off": "on"}[power[valve]]
        waits = {last[valve]} if valve in last else set()
        waits |= {j for j in last.values() if rng.random() < 0.07}
        steps.append(
            Step(_ACTIONS["switch", power[valve]], rng.choice(desks), None, {"VALVE": valve}, 0, tuple(sorted(waits)))
        )
        last[valve] = i
    always = rng.random() < 0.4
    rule = Rule(always, tuple(Lit("is", v, prop="power", value="on") for v in valves))
    return Plan(OWN_KINDS, things, [], [rule], steps)


def compare_rule(plan: Plan, counts: Counter[str]) -> str:
    """What is wrong with the verdict on the plan's rule; empty if nothing is."""
    (rule,) = plan.rules
    reals = Reals(plan)
    x = z3.Real("x")
    stays = [_stays(plan, str(lit.a), "off" if rule.always and n == 0 else "on") for n, lit in enumerate(rule.tests)]
    inside = [z3.Or([z3.And(_begun(reals, s, x), _lasts(reals, s, x)) for s in some]) for some in stays]
    broken = reals.can(*inside)
    avoided = reals.can(
        *[
            z3.Or([z3.Or(_apart(reals, a, b), _apart(reals, b, a)) for a, b in combinations(choice, 2)])
            for choice in product(*stays)
        ]
    )
    found = {p.rule for p in problems_of(world_of(text_of(plan)))}
    counts["kept" if not broken else "may break" if avoided else "broken in every timing"] += 1
    if "not-decided" in found or found - {"rule-broken", "rule-may-break"}:
        return f"unexpected: {sorted(found)}"
    if broken != bool(found):
        return f"z3 says {'broken' if broken else 'kept'}, the compiler {sorted(found)}"
    if "rule-broken" in found and avoided:
        return "said to be broken in every timing, and z3 has one in which it is not"
    return ""


Interval = tuple[int | None, int | None]  # (the step that makes it true, the one that ends it)


def _stays(plan: Plan, valve: str, value: str) -> list[Interval]:
    since: int | None = None
    true = plan.things[valve].props["power"] == value
    out: list[Interval] = []
    for i, step in enumerate(plan.steps):
        if step.args["VALVE"] != valve:
            continue
        if step.action.makes[0].value == value:
            true, since = True, i
        elif true:
            out.append((since, i))
            true = False
    return [*out, (since, None)] if true else out


def _begun(reals: Reals, stay: Interval, x: z3.ArithRef) -> z3.BoolRef:
    return z3.BoolVal(True) if stay[0] is None else reals.start[stay[0]] <= x


def _lasts(reals: Reals, stay: Interval, x: z3.ArithRef) -> z3.BoolRef:
    return z3.BoolVal(True) if stay[1] is None else x < reals.end[stay[1]]


def _apart(reals: Reals, a: Interval, b: Interval) -> z3.BoolRef:
    """a is over when b begins."""
    if a[1] is None or b[0] is None:
        return z3.BoolVal(False)
    return reals.end[a[1]] <= reals.start[b[0]]


def _loosened(plan: Plan, rng: random.Random) -> Plan:
    """Without most of its waits: then more of it races."""
    return replace(plan, steps=[replace(s, on=s.on if rng.random() < 0.2 else ()) for s in plan.steps], after={})


def compare_seed(seed: int, counts: Counter[str]) -> str:
    """One plan of each sort."""
    small = plan_from(seed)
    for plan in (random_order(seed), small, _loosened(small, random.Random(seed))):
        if plan.shipped or plan.groups:
            continue
        one, steps = flown(plan)
        wrong = compare_order(plan, one, steps, counts)
        if wrong:
            return f"{wrong}\n{text_of(plan)}"
    plan = switching(seed)
    wrong = compare_rule(plan, counts)
    return f"{wrong}\n{text_of(plan)}" if wrong else ""
