"""Same input, same bytes: the examples checked and built under other hash seeds, time zones and orders of naming."""

from __future__ import annotations

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
DEMO = EXAMPLES / "tarn-depot"


def told(*arguments: str, seed: int) -> tuple[int, bytes, bytes]:
    done = subprocess.run(
        [sys.executable, "-m", "jackstay", *arguments],
        capture_output=True, cwd=EXAMPLES, env={**os.environ, "PYTHONHASHSEED": str(seed), "TZ": f"UTC{seed % 12}"},
    )  # fmt: skip
    return done.returncode, done.stdout, done.stderr


@pytest.mark.parametrize("form", ["text", "json"])
def test_findings(form: str) -> None:
    arguments = ("check", ".", "--format", form, "--today", "2026-01-01")
    with ThreadPoolExecutor() as both:
        runs = list(both.map(lambda seed: told(*arguments, seed=seed), (1, 2)))
    assert runs[0][0] == 1 and b"may-come-first" in runs[0][1] and not runs[0][2]
    assert runs[0] == runs[1]


def test_printed_outputs(tmp_path: Path) -> None:
    built: list[dict[str, bytes]] = []
    for seed in (1, 2):
        folder = tmp_path / str(seed)
        code, _, complaint = told("build", str(DEMO), "-o", str(folder), "--today", "2026-01-01", seed=seed)
        assert code == 0, complaint
        built.append({path.name: path.read_bytes() for path in sorted(folder.iterdir())})
    assert len(built[0]) > 5 and built[0] == built[1]


def test_the_order_in_which_plans_are_named_does_not_matter() -> None:
    plans = sorted(str(path.relative_to(EXAMPLES)) for path in EXAMPLES.glob("mistakes/*.stay"))
    one = told("check", *plans, "--format", "line", "--today", "2026-01-01", seed=3)
    other = told("check", *reversed(plans), "--format", "line", "--today", "2026-01-01", seed=4)
    assert one == other
