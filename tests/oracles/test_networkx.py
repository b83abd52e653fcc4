"""Order, circles and stays against a graph library and plain enumeration."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import combinations, product

import networkx as nx
import pytest
from oracles.brute import Plan
from oracles.orders import compare_stays, event_graph, flown, random_order, short_stays, stays_of
from oracles.writing import text_of

from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.stays import Stay, apart, before, heaviest, meet, ordered

SEEDS = range(120)


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


def test_heaviest_is_what_a_minimum_cut_leaves() -> None:
    """More stays than can be enumerated. More still: ``python tests/oracles/run.py --against networkx``."""
    told = [found for found in map(compare_stays, range(10**6, 10**6 + 150)) if found is not None]
    assert all(good for good, _ in told), [n for n, (good, _) in enumerate(told) if not good]
    assert sum(some_apart for _, some_apart in told) > 60


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
