"""Whole pages of the small plan, read and approved by a person. A change of layout has to change them knowingly."""

from __future__ import annotations

from pathlib import Path

import pytest
from outputs.small_plan import pier

from jackstay.outputs.build import build
from jackstay.outputs.trace import trace_text

GOLDENS = Path(__file__).parent / "goldens"


@pytest.mark.parametrize("name", ["timeline.txt", "checklist-wren.txt", "checklist-teal.txt", "pack.txt", "end.txt"])
def test_the_page_is_as_approved(name: str) -> None:
    assert build(pier())[name].decode() == (GOLDENS / name).read_text(encoding="utf-8")


def test_the_trace_is_as_approved() -> None:
    assert trace_text(pier(), "lamp") == (GOLDENS / "trace-lamp.txt").read_text(encoding="utf-8")
