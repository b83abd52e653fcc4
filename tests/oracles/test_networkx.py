"""Order, circles and stays against a graph library and plain enumeration."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations, product

import networkx as nx
import pytest
from oracles.brute import Action, Plan, Thing
from oracles.brute import Step as Written
from oracles.judging import world_of
from oracles.vocabulary import OWN_KINDS
from oracles.writing import text_of

from jackstay.flow.analyse import analyse
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.stays import Stay, apart, before, heaviest, meet, ordered

ACTORS = ("ana", "ben", "cyd", "dot")
ALONE = Action(("nod",), "crew")
PAIR = Action(("bow",), "crew", helped="crew")
SEEDS = range(120)


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


@pytest.fixture(scope="module")
def orders() -> list[tuple[Plan, ExcursionFlow, dict[int, Step]]]:
    return [(plan, *flown(plan)) for plan in (random_order(seed) for seed in SEEDS)]


def test_happens_before_is_the_transitive_closure(orders: list[tuple[Plan, ExcursionFlow, dict[int, Step]]]) -> None:
    seen = {True: 0, False: 0}
    beside = 0
    for plan, one, steps in orders:
        if not one.complete:
            continue
        assert len(steps) == len(plan.steps), text_of(plan)
        closure = nx.transitive_closure(event_graph(plan))
        beside += sum(bool(s.beside) for s in plan.steps)
        for i, j in product(steps, repeat=2):
            if i != j:
                wanted = closure.has_edge(("end", i), ("start", j))
                seen[wanted] += 1
                assert happens_before(steps[i], steps[j]) == wanted, f"{i} before {j}\n{text_of(plan)}"
    assert min(seen.values()) > 2000 and beside > 20, (seen, beside)


def test_a_circle_is_found_exactly_when_there_is_one(orders: list[tuple[Plan, ExcursionFlow, dict[int, Step]]]) -> None:
    circles = 0
    for plan, one, _ in orders:
        acyclic = nx.is_directed_acyclic_graph(event_graph(plan))
        circles += not acyclic
        assert one.complete == acyclic, text_of(plan)
        assert [p.rule for p in one.problems if p.rule == "circular-wait"] == [] if acyclic else ["circular-wait"]
    assert 10 < circles < len(orders) - 10


# --- stays -----------------------------------------------------------------------------------------------------------


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
        out.append(Stay(start, end, None, Fraction(rng.randint(1, 4), rng.choice((1, 1, 2)))))
    return out


def test_heaviest_weighs_as_much_as_the_heaviest_set_there_is(
    orders: list[tuple[Plan, ExcursionFlow, dict[int, Step]]],
) -> None:
    rng = random.Random(5)
    chained = 0
    for _, one, _ in orders:
        if not one.complete:
            continue
        stays = stays_of(rng, one.steps, rng.randint(1, 8))
        best = max(
            sum((s.weight for s in some), Fraction(0))
            for n in range(len(stays) + 1)
            for some in combinations(stays, n)
            if not any(apart(a, b) for a, b in combinations(some, 2))
        )
        weight, chosen = heaviest(stays)
        assert weight == best == sum((s.weight for s in chosen), Fraction(0))
        assert not any(apart(a, b) for a, b in combinations(chosen, 2))
        chained += weight < sum((s.weight for s in stays), Fraction(0))
    assert chained > 20


def test_meet_finds_a_choice_exactly_when_there_is_one(
    orders: list[tuple[Plan, ExcursionFlow, dict[int, Step]]],
) -> None:
    rng = random.Random(6)
    met = parted = 0
    for _, one, _ in orders:
        if not one.complete:
            continue
        for _ in range(6):
            chains = []
            for _ in range(rng.randint(2, 3)):
                chain: list[Stay] = []
                for stay in short_stays(rng, one.steps, rng.choice((1, 2, 4))):
                    if not chain or before(chain[-1], stay):
                        chain.append(stay)
                assert ordered(chain)
                chains.append(chain)
            there = any(not any(apart(a, b) for a, b in combinations(choice, 2)) for choice in product(*chains))
            found = meet(chains)
            assert (found is not None) == there
            if found is not None:
                assert all(stay in chain for stay, chain in zip(found, chains, strict=True))
                assert not any(apart(a, b) for a, b in combinations(found, 2))
            met += there
            parted += not there
    assert met > 50 and parted > 50, (met, parted)
