"""The benchmark runs and counts what it says it counts. How long anything takes is nobody's test."""

from __future__ import annotations

import ast

from tests.benchmarks.run import STAGES, one, ordinary_python, table
from tests.benchmarks.validator import validate_chain


def test_one_small_size_and_its_table() -> None:
    row = one(60)
    assert 50 <= row["steps"] <= 70
    assert all(row[stage] >= 0 for stage in (*STAGES, "ast", "bare"))
    assert row["total"] > 0
    head, *lines = table([row, {**row, "steps": row["steps"] * 10, "total": row["total"] * 10}])
    assert len(lines) == 2
    assert " 1.00 " in lines[1], "ten times the time for ten times the steps is growth 1"
    assert len({len(line) for line in (head, *lines)}) == 1


def test_ordinary_python_is_python_of_that_size() -> None:
    for size in (5_000, 120_000):
        text = ordinary_python(size)
        assert ast.parse(text).body
        assert 0.5 * size <= len(text) <= 1.01 * size


def test_the_other_validator_takes_its_chain() -> None:
    assert validate_chain(8) > 0
