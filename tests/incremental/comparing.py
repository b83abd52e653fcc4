"""A session's checks against cold ones, byte by byte."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from incremental.campaigns import CAMPAIGNS
from incremental.edits import history

from jackstay.keeping.session import Session
from jackstay.pipeline import check
from jackstay.report import json
from jackstay.report.text import render
from jackstay.syntax import parsing

TODAY = date(2027, 1, 1)


def as_bytes(checked: Any) -> bytes:
    """All that a check says, as data and as text."""
    data = json.render(checked.diagnostics, len(checked.sources), len(checked.undecided))
    return (data + render(checked.diagnostics, checked.sources, 100, color=False)).encode()


def write(folder: Path, files: dict[str, str]) -> None:
    """Exactly these files."""
    for path in folder.glob("*.stay"):
        if path.name not in files:
            path.unlink()
    for name, text in files.items():
        (folder / name).write_text(text, encoding="utf-8")


def differences(folder: Path, campaign: str, seed: int, length: int) -> Iterator[str]:
    """Where one session over a random history of a campaign says something else than cold checks."""
    root, files = CAMPAIGNS[campaign]()
    session = Session(folder / root)
    for number, state in enumerate(history(files, random.Random(seed), length)):
        write(folder, state)
        warm = as_bytes(session.check(TODAY))
        parsing.forget()
        cold = as_bytes(check(folder / root, TODAY))
        if warm != cold:
            yield f"{campaign}, seed {seed}, edit {number}: {_first(warm, cold)}"


def _first(warm: bytes, cold: bytes) -> str:
    at = next((n for n, (a, b) in enumerate(zip(warm, cold, strict=False)) if a != b), min(len(warm), len(cold)))
    return f"warm {warm[max(0, at - 200) : at + 200]!r}, cold {cold[max(0, at - 200) : at + 200]!r}"
