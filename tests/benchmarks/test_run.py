"""The benchmark runs and counts what it says it counts. How long anything takes is nobody's test."""

from __future__ import annotations

import ast

from tests.benchmarks.run import (
    STAGES,
    droppable,
    line_of_droppable,
    line_of_stays,
    one,
    ordinary_python,
    stays,
    table,
)
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


def test_stays_of_a_small_size() -> None:
    found = stays(60)
    assert 50 <= found["steps"] <= 70
    assert min(found["order"], found["stays"]) > 0
    assert line_of_stays({"steps": 7, "order": 0.002, "stays": 0.003}).endswith(
        "2 ms, order and stays 5 ms, 7 steps: 2.5 times"
    )


def test_a_few_get_aheads() -> None:
    found = droppable(3)
    assert found["steps"] >= 3 * 5
    assert found["decided"] is True
    assert min(found["nominal"], found["whole"]) > 0
    line = line_of_droppable({"steps": 9, "nominal": 0.02, "whole": 0.05, "decided": False}, 4)
    assert "4 get-aheads shown to be droppable in 30 ms, 9 steps: 1.5 times" in line
    assert "(20 ms); not decided" in line


def test_ordinary_python_is_python_of_that_size() -> None:
    for size in (5_000, 120_000):
        text = ordinary_python(size)
        assert ast.parse(text).body
        assert 0.5 * size <= len(text) <= 1.01 * size


def test_the_other_validator_takes_its_chain() -> None:
    assert validate_chain(8) > 0
