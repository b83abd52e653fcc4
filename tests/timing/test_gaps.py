"""How far apart the nominal times keep steps that nothing orders."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from timing.test_schedule import flow_of

from jackstay.timing.gaps import Apart, between, minutes, together
from jackstay.timing.records import Times
from jackstay.timing.schedule import schedule

MINUTE = 60


def timed(plan: list[tuple[int | None, int]]) -> Times:
    """(minutes, actor) per step."""
    times = schedule(flow_of([(length, (actor,), None) for length, actor in plan], []))  # type: ignore[misc]
    assert times is not None
    return times


def test_one_after_the_other_with_the_minutes_between() -> None:
    times = timed([(4, 0), (7, 1), (5, 1)])  # 0 to 4; 0 to 7, 7 to 12
    assert between(times, 0, 2) == Apart(1, Fraction(3 * MINUTE))
    assert between(times, 2, 0) == Apart(-1, Fraction(3 * MINUTE))
    assert between(times, 0, 1) == Apart(0, Fraction(4 * MINUTE))


def test_nothing_is_said_of_a_missing_duration() -> None:
    times = timed([(None, 0), (2, 0), (7, 1), (5, 1)])
    assert between(times, 0, 3) is None  # nobody knows when the first is over
    assert between(times, 1, 3) is None
    assert together(times, [(1, None), (3, 3)]) is None


@given(st.lists(st.tuples(st.integers(0, 9), st.integers(0, 2)), min_size=2, max_size=8), st.data())
def test_all_meet_iff_some_moment_is_in_each(plan: list[tuple[int, int]], data: st.DataObject) -> None:
    times = timed(plan)  # type: ignore[arg-type]
    some = data.draw(st.lists(st.integers(0, len(plan) - 1), min_size=2, max_size=3, unique=True))
    gap = together(times, [(i, i) for i in some])
    assert gap is not None
    half = range(0, 2 * 60 * 9 * 8)
    inside = [h for h in half if h % 60 == 30 and all(2 * times.start[i] < h < 2 * times.end[i] for i in some)]
    assert (gap < 0) == bool(inside)


def test_a_stretch_without_an_end_never_keeps_anything_apart() -> None:
    times = timed([(4, 0), (7, 1)])
    assert together(times, [(None, None), (0, 0)]) == -4 * MINUTE
    assert together(times, [(None, None), (None, 0)]) is None


@pytest.mark.parametrize(("seconds", "text"), [(0, "0 min"), (2, "< 0.1 min"), (90, "1.5 min"), (720, "12 min")])
def test_in_words(seconds: int, text: str) -> None:
    assert minutes(Fraction(seconds)) == text
