"""The benchmark of outputs counts what it says it counts. How long anything takes is nobody's test."""

from __future__ import annotations

import math

from tests.benchmarks.outputs import DEMO, Measured, growth, measure, table


def test_some_parts_of_the_demo() -> None:
    found = measure(DEMO, ("end", "timeline"))
    assert set(found.seconds) == {"end", "timeline"} == set(found.bytes)
    assert found.steps > 300 and found.bytes["timeline"] > 10_000
    assert min(found.seconds.values()) > 0


def test_growth_is_an_exponent() -> None:
    small = Measured(100, {"a": 0.01, "b": 0.0001}, {"a": 1, "b": 1})
    large = Measured(1000, {"a": 1.0, "b": 1.0}, {"a": 1, "b": 1})
    assert growth(small, large, "a") == 2.0
    assert math.isnan(growth(small, large, "b"))
    head, first, second, last = table(small, small, large)
    assert " 2.00 " in first and " - " in second and last.split()[0] == "all"
    assert len({len(line) for line in (head, first, second, last)}) == 1
