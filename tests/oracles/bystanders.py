"""Plans with actors who are not in the crew, and literals for which it matters who is."""

from __future__ import annotations

import random
from dataclasses import replace

from oracles.brute import Lit, Plan, Rule, Step, Thing, View, World, limits


def with_bystanders(plan: Plan, rng: random.Random) -> Plan:
    """Whoever takes no part, or one more, is no longer of the crew, and something is asked of whether anyone is where.
    The plan as it was, if there is no room for one more."""
    sites = [t.name for t in plan.things.values() if "room" in t.props]
    busy = {name for step in plan.steps for name in _cast(step, plan)}
    busy |= {plan.things[name].runner or name for name in busy}
    idle = tuple(t.name for t in plan.things.values() if plan.kinds[t.kind].sort == "actor" and t.name not in busy)
    things = plan.things
    if not idle or rng.random() < 0.5:
        things = {**things, "dot": Thing("dot", "crew", place=rng.choice(sites))}
        idle = (*idle, "dot")
    made = replace(plan, things=things, bystanders=idle)
    world = World(made)
    if next(limits(View(world, world.start())), None) is not None:
        return plan
    return _asking(made, rng, sites) if rng.random() < 0.5 else replace(made, rules=[*plan.rules, _rule(rng, sites)])


def _cast(step: Step, plan: Plan) -> list[str]:
    """Who takes part in a step, or is spoken of in it."""
    return [name for name in (step.actor, step.helper, *step.args.values()) if name in plan.things]


def _rule(rng: random.Random, sites: list[str]) -> Rule:
    quant = (rng.choice(("some", "none")), "crew")
    return Rule(
        rng.random() < 0.5,
        (Lit("at", quant, rng.choice(sites)), Lit("at", rng.choice(("ana", "ben")), rng.choice(sites))),
    )


def _asking(plan: Plan, rng: random.Random, sites: list[str]) -> Plan:
    """With one more need of whatever does as one of the steps does; no move, which headings make as well."""
    some = [step.action for step in plan.steps if step.action.serves is None]
    if not some:
        return plan
    old = rng.choice(some)
    need = Lit("at", (rng.choice(("some", "some", "none")), "crew"), rng.choice(sites))
    new = old._replace(needs=(*old.needs, need))
    return replace(plan, steps=[replace(s, action=new) if s.action == old else s for s in plan.steps])
