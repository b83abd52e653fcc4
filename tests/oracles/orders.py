"""Orders by chance, of steps that touch nothing, and stays between them; both as a graph library has them."""

from __future__ import annotations

import random
from fractions import Fraction
from math import lcm

import networkx as nx
from oracles.brute import Action, Plan, Thing
from oracles.brute import Step as Written
from oracles.judging import world_of
from oracles.vocabulary import OWN_KINDS
from oracles.writing import text_of

from jackstay.flow.analyse import analyse
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.stays import Stay, apart, heaviest

ACTORS = ("ana", "ben", "cyd", "dot")
ALONE = Action(("nod",), "crew")
PAIR = Action(("bow",), "crew", helped="crew")


def random_order(seed: int) -> Plan:
    """Steps that touch nothing, alone and in pairs, in tasks, with waits and steps beside steps; some circular."""
    rng = random.Random(seed)
    things = {"deck": Thing("deck", "site", {"room": 9}), **{a: Thing(a, "crew", place="deck") for a in ACTORS}}
    count = rng.randint(4, 24)
    steps: list[Written] = []
    tasks = sorted(rng.randrange(3) for _ in range(count))
    circular = rng.random() < 0.3
    for i in range(count):
        first, second = rng.sample(ACTORS, 2)
        pair = rng.random() < 0.25
        limit = count if circular and rng.random() < 0.1 else i
        on = {rng.randrange(limit) for _ in range(rng.choice((0, 0, 1, 1, 2))) if limit} - {i}
        steps.append(Written(PAIR if pair else ALONE, first, second if pair else None, {}, tasks[i], tuple(sorted(on))))
        if i and rng.random() < 0.12:
            other = rng.randrange(i)
            if not {first, second} & {steps[other].actor, steps[other].helper}:
                steps[i].beside = (other,)
                steps[i].on = tuple(n for n in steps[i].on if n != other)
    after = {t: (t - 1,) for t in (1, 2) if rng.random() < 0.2 and t in tasks and t - 1 in tasks}
    return Plan(OWN_KINDS, things, [], [], steps, after)


def event_graph(plan: Plan) -> "nx.DiGraph[tuple[str, int]]":
    """Starts and ends of the written steps, and what the text puts before what."""
    graph: nx.DiGraph[tuple[str, int]] = nx.DiGraph()
    last: dict[str, int] = {}
    for i, step in enumerate(plan.steps):
        graph.add_edge(("start", i), ("end", i))
        for actor in (step.actor, step.helper):
            if actor is not None:
                if actor in last:
                    graph.add_edge(("end", last[actor]), ("start", i))
                last[actor] = i
        graph.add_edges_from((("end", j), ("start", i)) for j in step.on)
        for m in step.beside:
            graph.add_edge(("start", m), ("start", i))
            graph.add_edge(("end", i), ("end", m))
        graph.add_edges_from(
            (("end", j), ("start", i))
            for j, other in enumerate(plan.steps)
            if other.task in plan.after.get(step.task, ())
        )
    return graph


def flown(plan: Plan) -> tuple[ExcursionFlow, dict[int, Step]]:
    """The compiler's flow, and its step for each written one."""
    (one,) = analyse(world_of(text_of(plan))).excursions
    acted = sorted((s for s in one.steps if s.action is not None), key=lambda s: s.entry.index)
    return one, dict(enumerate(acted))


def short_stays(rng: random.Random, steps: list[Step], count: int) -> list[Stay]:
    """Stays of a few steps of one actor, early and late ones: many are apart."""
    out = []
    for _ in range(count):
        first = rng.randrange(len(steps))
        later = [s for s in steps[first : first + 4] if s is steps[first] or happens_before(steps[first], s)]
        out.append(Stay(steps[first], rng.choice(later)))
    return sorted(out, key=lambda s: s.start.index if s.start else -1)


def stays_of(rng: random.Random, steps: list[Step], count: int) -> list[Stay]:
    out = []
    for _ in range(count):
        start, end = rng.choice([None, *steps]), rng.choice([None, *steps])
        if start is not None and end is not None and (happens_before(end, start) or end.index < start.index):
            start, end = end, start
        if start is not None and end is not None and not happens_before(start, end):
            end = start  # what makes a fact is surely over before what unmakes it: else the two race
        out.append(Stay(start, end, None, Fraction(rng.randint(1, 4), rng.choice((1, 1, 2)))))
    return out


def heaviest_by_cut(stays: list[Stay], steps: dict[int, Step], closure: "nx.DiGraph[tuple[str, int]]") -> Fraction:
    """The heaviest set of stays of which none is over before another begins: all weight, less networkx' minimum cut.
    closure: of `event_graph`; what the compiler knows of the order is not asked."""
    number = {id(step): i for i, step in steps.items()}
    unit = lcm(*(stay.weight.denominator for stay in stays))
    graph: nx.DiGraph[object] = nx.DiGraph()
    graph.add_nodes_from(("source", "sink"))
    for i, stay in enumerate(stays):
        graph.add_edge("source", ("left", i), capacity=int(stay.weight * unit))
        graph.add_edge(("right", i), "sink", capacity=int(stay.weight * unit))
        for j, other in enumerate(stays):
            if stay.end is None or other.start is None or i == j:
                continue
            if closure.has_edge(("end", number[id(stay.end)]), ("start", number[id(other.start)])):
                graph.add_edge(("left", i), ("right", j))  # no capacity: as much as you like
    return sum((s.weight for s in stays), Fraction(0)) - Fraction(nx.minimum_cut_value(graph, "source", "sink"), unit)


def compare_stays(seed: int) -> tuple[bool, bool] | None:
    """Whether `heaviest` and the cut agree on some stays of one order, and whether any were apart; None: a circle."""
    plan = random_order(seed)
    one, steps = flown(plan)
    if not one.complete:
        return None
    rng = random.Random(seed)
    acted = list(steps.values())
    stays = stays_of(rng, acted, rng.randint(1, 25)) + [
        s._replace(weight=Fraction(rng.randint(1, 9))) for s in short_stays(rng, acted, rng.randint(1, 25))
    ]
    weight, chosen = heaviest(stays)
    wanted = heaviest_by_cut(stays, steps, nx.transitive_closure(event_graph(plan)))
    good = weight == wanted == sum((s.weight for s in chosen), Fraction(0))
    good = good and not any(apart(a, b) for n, a in enumerate(chosen) for b in chosen[:n])
    return good, weight < sum((s.weight for s in stays), Fraction(0))
