"""Droppable tasks and fallbacks against every variant of small plans.

More: ``python tests/oracles/run_variants.py --plans 20000 --jobs 2``.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from oracles.generate_variants import variants_from
from oracles.run_variants import Case, case_of, explain, judge

from jackstay.flow import dropping, fallbacks
from jackstay.flow.records import ExcursionFlow, Step

PLANS = 130


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    found = [case_of(variants_from(seed)) for seed in range(PLANS)]
    return [case for case in found if case is not None]


def test_every_variant_agrees(cases: list[Case]) -> None:
    assert {case.oracle for case in cases} >= {"clean", "dropped", "fallback", "written"}
    for case in cases:
        assert judge(case).agrees, explain(case.plan)


def test_a_check_that_drops_nothing_is_caught(cases: list[Case], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dropping.Drops, "check", lambda self, alone: None)
    assert any(not judge(case).agrees for case in cases)


def test_a_check_of_the_last_moment_only_is_caught(cases: list[Case], monkeypatch: pytest.MonkeyPatch) -> None:
    every = fallbacks._cuts

    def last(flow: ExcursionFlow, step: Step, most: int) -> Iterator[tuple[int, ...]]:
        yield from list(every(flow, step, most))[-1:]

    monkeypatch.setattr(fallbacks, "_cuts", last)
    assert any(not judge(case).agrees for case in cases)
