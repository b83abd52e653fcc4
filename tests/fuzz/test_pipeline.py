"""Any plan, however spoilt, gets findings: no exception, in bounded time, each at a place that exists.

A quick slice; ``python -m tests.fuzz.run --minutes 10`` goes on for as long as wanted and makes small what it finds.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from fuzz.judge import judge
from fuzz.mutate import spoilt
from fuzz.plans import Project, lines_of, projects
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

STARTS = projects()
FOREIGN = lines_of(STARTS)


@pytest.mark.parametrize("slice_", range(8))
def test_spoilt_projects(slice_: int, tmp_path: Path) -> None:
    for seed in range(slice_ * 15, slice_ * 15 + 15):
        chance = random.Random(seed)
        project = spoilt(chance.choice(STARTS), chance, FOREIGN)
        try:
            took = judge(project, tmp_path)
        except Exception as error:
            error.add_note(f"python -m tests.fuzz.run --from {seed} --count 1")
            raise
        assert took < 10, f"seed {seed}"


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(("", "  ", "    ", "      ")), st.sampled_from(FOREIGN)), max_size=12))
def test_lines_from_anywhere(tmp_path: Path, lines: list[tuple[str, str]]) -> None:
    body = "\n".join(indent + line for indent, line in lines)
    judge(Project("lines", "x.stay", {"x.stay": body}, ("x.stay",)), tmp_path)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(max_size=300))
def test_any_text(tmp_path: Path, text: str) -> None:
    judge(Project("text", "x.stay", {"x.stay": text}, ("x.stay",)), tmp_path)
