"""Alignment against brute force over short lists."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations

from hypothesis import given
from hypothesis import strategies as st

from jackstay.comparing.alignment import common, in_turn, longest_run

WORDS = st.lists(st.sampled_from("abc"), max_size=6)


@given(WORDS, WORDS)
def test_as_many_in_common_as_there_can_be(old: list[str], new: list[str]) -> None:
    pairs = common(old, new)
    assert all(old[i] == new[j] for i, j in pairs)
    assert all(a < c and b < d for (a, b), (c, d) in pairwise(pairs))
    subsequences = {s for n in range(len(new) + 1) for s in combinations(new, n)}
    best = max(n for n in range(len(old) + 1) for s in combinations(old, n) if s in subsequences)
    assert len(pairs) == best


LETTERS = st.lists(st.sampled_from(["a", "A", "b", "B"]), max_size=5)


def weighed(one: str, other: str) -> int:
    """Two letters are a pair; more of one if they are alike in case."""
    return (3 if one == other else 2) if one.lower() == other.lower() else 0


@given(LETTERS, LETTERS)
def test_as_much_in_common_as_there_can_be(old: list[str], new: list[str]) -> None:
    def best(i: int, j: int) -> int:
        if i == len(old) or j == len(new):
            return 0
        own = weighed(old[i], new[j])
        return max(best(i + 1, j), best(i, j + 1), own + best(i + 1, j + 1) if own else 0)

    assert sum(weighed(old[i], new[j]) for i, j in common(old, new, weighed)) == best(0, 0)


def test_the_longest_run_is_the_longest() -> None:
    for size in range(7):
        for order in permutations(range(size)):
            run = longest_run(order)
            values = [order[at] for at in run]
            assert run == sorted(run) and values == sorted(values)
            longest = max(n for n in range(size + 1) for s in combinations(order, n) if list(s) == sorted(s))
            assert len(run) == longest


@given(WORDS, WORDS)
def test_in_turn_pairs_as_many_of_each_as_both_have(old: list[str], new: list[str]) -> None:
    pairs = in_turn(old, new)
    assert all(old[i] == new[j] for i, j in pairs)
    assert len({i for i, _ in pairs}) == len({j for _, j in pairs}) == len(pairs)
    assert len(pairs) == sum(min(old.count(letter), new.count(letter)) for letter in "abc")


def test_very_long_lists_are_aligned_without_a_table() -> None:
    old = [f"step {n}" for n in range(3000)]
    new = [*old[1:1500], "another", *old[1500:], old[0]]
    assert len(common(["first", *old, "last"], ["other", *new, "end"])) == 2999
