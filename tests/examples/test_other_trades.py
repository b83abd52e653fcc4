"""The demo campaigns of the other trades: clean, and with all that a demo should show."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from jackstay.pipeline import check

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", ["harrow-sound", "corran-mill"])
def test_nothing_is_found_and_nothing_left_undecided(name: str) -> None:
    checked = check(ROOT / "examples" / name / "campaign.stay", datetime.date(2026, 1, 1))
    assert checked.diagnostics == []
    assert len(checked.world.excursions) == 2
    for excursion in checked.world.excursions:
        assert excursion.fallbacks and excursion.limit is not None and excursion.begins is not None
        assert any(task.rank == "get-ahead" for task in excursion.tasks)
        spread = [e.duration for e in excursion.entries if e.duration is not None and e.duration.least is not None]
        assert len(spread) >= 4


@pytest.mark.parametrize("name", ["harrow-sound", "corran-mill"])
def test_the_readme_names_the_files_there_are(name: str) -> None:
    folder = ROOT / "examples" / name
    text = (folder / "README.md").read_text(encoding="utf-8")
    files = {path.name for path in folder.glob("*.stay")}
    assert {file for file in files if f"| `{file}` |" in text} == files
