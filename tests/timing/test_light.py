"""When a step that needs light or dark may start, against a walk over every moment."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from jackstay.timing.light import DARK, DAYLIGHT, Cycle

END = 80


def lit(cycle: Cycle, at: int) -> bool:
    """Whether the stretch from ``at`` to ``at + 1`` is light: by counting turns, not by arithmetic on them."""
    begins = cycle.first
    while begins <= at:
        if at < begins + cycle.dark:
            return False
        begins += cycle.every
    return True


def fits(cycle: Cycle, start: int, length: int, word: str) -> bool:
    """A step of whole ticks fits where each of them is right; one that takes no time, where a tick beside it is."""
    if length:
        return all(lit(cycle, at) == (word == DAYLIGHT) for at in range(start, start + length))
    return any(lit(cycle, at) == (word == DAYLIGHT) for at in (start - 1, start))


cycles = st.integers(1, 9).flatmap(
    lambda every: st.builds(Cycle, st.integers(0, every), st.just(every), st.integers(0, 12))
)
words = st.sampled_from([DAYLIGHT, DARK])


@given(cycles, st.integers(0, 30), st.integers(0, 12), words)
def test_the_earliest_is_the_first_moment_that_fits(cycle: Cycle, ready: int, length: int, word: str) -> None:
    expected = next((at for at in range(ready, END) if fits(cycle, at, length, word)), None)
    assert cycle.earliest(ready, length, word) == expected


@given(cycles, st.integers(0, 30), st.integers(0, 12), words)
def test_the_latest_is_the_last_moment_that_fits(cycle: Cycle, by: int, length: int, word: str) -> None:
    expected = next((at for at in range(by, -1, -1) if fits(cycle, at, length, word)), None)
    assert cycle.latest(by, length, word) == expected


@given(cycles, st.integers(0, 30), st.integers(0, 30), st.integers(0, 12), words)
def test_who_is_ready_later_never_starts_sooner(cycle: Cycle, one: int, other: int, length: int, word: str) -> None:
    first, second = cycle.earliest(min(one, other), length, word), cycle.earliest(max(one, other), length, word)
    if first is not None and second is not None:
        assert first <= second


@given(cycles, words)
def test_the_longest_stretch_that_comes_again(cycle: Cycle, word: str) -> None:
    longest = cycle.longest(word)
    later = cycle.first + cycle.every  # past the light before the first dark
    for length in range(1, 12):
        assert (cycle.earliest(later, length, word) is not None) == (longest is None or length <= longest)
