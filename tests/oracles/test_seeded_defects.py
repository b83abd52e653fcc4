"""Every defect seeded into the demo is found, or is none: see `defects` and `survivors.txt`.

The suite takes every sixth mutant; all of them: ``python tests/oracles/defects.py``.
"""

from __future__ import annotations

import shutil
from collections import Counter
from pathlib import Path

import pytest
from oracles.defects import DEMO, Mutant, found_in, mutants, survivors

EVERY = 6


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo."""
    return Path(shutil.copytree(DEMO, tmp_path_factory.mktemp("demo") / "campaign"))


@pytest.fixture(scope="module")
def every(folder: Path) -> list[Mutant]:
    return mutants(folder)


def test_the_mutants_are_of_all_sorts(every: list[Mutant]) -> None:
    counts = Counter(mutant.key.split(" | ")[1] for mutant in every)
    assert set(counts) == {"forget step", "forget wait", "swap crew", "mix up", "stow later"}
    assert min(counts.values()) > 15 and len(every) > 300, counts
    assert len({mutant.key for mutant in every}) == len(every)


def test_every_survivor_is_a_mutant_with_a_reason(every: list[Mutant]) -> None:
    keys = {mutant.key for mutant in every}
    for key, reason in survivors().items():
        assert key in keys, f"no such mutant any more: {key}"
        assert len(reason) > 8, key


def test_a_seeded_defect_is_found(every: list[Mutant], folder: Path) -> None:
    known = survivors()
    found = 0
    for mutant in every[::EVERY]:
        rules = found_in(mutant, folder)
        found += bool(rules)
        assert rules or mutant.key in known, f"nothing finds this; a defect, or a line for survivors.txt?\n{mutant.key}"
        assert not (rules and mutant.key in known), (
            f"found by now ({rules[0]}): take it out of survivors.txt\n{mutant.key}"
        )
    assert found > len(every) / EVERY / 2
