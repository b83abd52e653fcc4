"""One project checked and told: what may never happen, whatever the text is."""

from __future__ import annotations

import datetime
import signal
import time
from collections.abc import Callable
from pathlib import Path
from types import FrameType

from fuzz.plans import Project

from jackstay.report import json, line, text

TODAY = datetime.date(2026, 1, 1)


class TooSlow(Exception):
    """A check did not come to its end in the time it has."""


def _alarm(_number: int, _frame: FrameType | None) -> None:
    raise TooSlow


def written(project: Project, folder: Path) -> Path:
    """The project's files in a folder, nothing else beside them; returns the root file."""
    for old in folder.glob("*.stay"):
        old.unlink()
    for name, content in project.files.items():
        (folder / name).write_bytes(content.encode("utf-8", errors="surrogatepass"))
    return folder / project.root


def judge(project: Project, folder: Path, seconds: int = 20) -> float:
    """Check and tell in all three forms; returns the seconds of processor time that it took.

    Raises what the compiler raises, `TooSlow`, or AssertionError where a finding has no place or no words."""
    from jackstay.pipeline import check

    root = written(project, folder)
    old = signal.signal(signal.SIGALRM, _alarm)
    signal.alarm(seconds)
    started = time.process_time()
    try:
        result = check(root, TODAY)
        found = result.diagnostics
        told = text.render(found, result.sources, 100, False)  # type: ignore[arg-type]
        assert bool(told) == bool(found)
        assert len(line.render(found).splitlines()) == len(found), "a line for each finding, and each on one line"
        json.render(found, len(result.sources), len(result.undecided))
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, old)
    took = time.process_time() - started
    assert found == sorted(found, key=lambda one: one.order())
    for finding in found:
        assert finding.message.strip()
        source = result.sources.get(finding.at.path)
        if source is not None and source.lines:
            assert 1 <= finding.at.line <= len(source.lines), finding
            assert 0 <= finding.at.start <= finding.at.end <= len(source.lines[finding.at.line - 1]), finding
    return took


def smaller(project: Project, wrong: Callable[[Project], bool], seconds: float = 60) -> Project:
    """The project without the lines (and blocks of lines) that ``wrong`` does not need."""
    ends = time.monotonic() + seconds
    length = 16
    while length >= 1:
        for name in list(project.files):
            at = 0
            while at < (count := len(lines := project.files[name].split("\n"))):
                if time.monotonic() > ends:
                    return project
                fewer = "\n".join(lines[:at] + lines[at + length :])
                tried = Project(project.name, project.root, {**project.files, name: fewer}, project.spoilt)
                if at + length <= count and wrong(tried):
                    project = tried
                else:
                    at += length
        length //= 2
    return project
