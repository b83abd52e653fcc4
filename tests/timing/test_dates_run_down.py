"""Dates that put an excursion before the one it goes on from: how much time lies between is nothing to be reckoned."""

from __future__ import annotations

import datetime
import shutil
from pathlib import Path

import pytest

from jackstay.pipeline import check

HARROW = Path(__file__).parents[2] / "examples" / "harrow-sound"


@pytest.mark.parametrize(
    "day, rules",
    [
        ("2031-06-01", ["begins-too-early", "not-decided"]),
        ("2031-06-03", ["begins-too-early", "not-decided"]),
        ("2031-06-04", []),
    ],
)
def test_nothing_is_too_soon_before_it_is_over(tmp_path: Path, day: str, rules: list[str]) -> None:
    folder = shutil.copytree(HARROW, tmp_path / "harrow")
    second = folder / "shackle.stay"
    text = second.read_text(encoding="utf-8")
    assert "begins 2031-06-04 at" in text
    second.write_text(text.replace("begins 2031-06-04 at", f"begins {day} at"), encoding="utf-8")
    found = check(folder / "campaign.stay", datetime.date(2026, 1, 1)).diagnostics
    assert sorted(one.rule for one in found) == rules
