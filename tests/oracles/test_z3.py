"""Order, races and rules against z3 over the reals.

More than fit here: ``python tests/oracles/run.py --against z3 --plans 10000``.
"""

from __future__ import annotations

from collections import Counter

from oracles.reals import compare_seed


def test_order_races_and_rules_are_as_over_the_reals() -> None:
    counts: Counter[str] = Counter()
    for seed in range(70):
        wrong = compare_seed(seed, counts)
        assert not wrong, f"seed {seed}: {wrong}"
    print(dict(counts))
    least = {"ordered": 1000, "not ordered": 1000, "pairs that race": 50, "pairs kept apart": 50, "circular": 5}
    least |= {"kept": 8, "may break": 8, "broken in every timing": 8}
    assert all(counts[what] >= number for what, number in least.items()), counts
    assert counts["more steps than written"] < 40, counts
