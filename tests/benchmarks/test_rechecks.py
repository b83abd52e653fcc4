"""The benchmark of re-checks measures what it says it does."""

from __future__ import annotations

from pathlib import Path

import pytest

from jackstay.pipeline import check
from tests.benchmarks import rechecks
from tests.benchmarks.generate_chain import write_chain


@pytest.mark.parametrize(("apart", "extras"), [(False, 2), (True, 0)])
def test_the_campaigns_are_clean(tmp_path: Path, apart: bool, extras: int) -> None:
    found = check(write_chain(tmp_path, 3, 40, apart, extras))
    assert found.flow is not None and not found.diagnostics
    assert [len(flow.steps) >= 40 for flow in found.flow.excursions] == [True] * 3


def test_each_edit_is_measured(tmp_path: Path) -> None:
    root = write_chain(tmp_path, 3, 40)
    text = root.read_text()
    rows = rechecks.measure(root, root, {"far": (tmp_path / "site.stay", "to bay1 4 m", "to bay1 5 m")}, 1)
    assert [row["edit"] for row in rows][-1] == "far" and len(rows) == 8
    assert {row["edit"] for row in rows if row["findings"]} >= {
        "a verb misspelt",
        "a bracket too many",
        "a step left out",
    }
    assert root.read_text() == text
    assert rechecks.table(rows).count("\n") == 8
