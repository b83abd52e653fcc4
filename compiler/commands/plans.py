"""Which files of a folder to check: those that no other file there draws on, a campaign first."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path

_USE = re.compile(r"^\s*use\s+([a-z][a-z0-9/-]*)")
_EXCURSIONS = re.compile(r"^\s*excursions\s+([^#]*)")
_STARTS = re.compile(r"^\s*starts\s+(?:as|from\s+promise\s+of)\s+([a-z][a-z0-9/-]*)")
_CAMPAIGN = re.compile(r"^campaign\b", re.MULTILINE)


def _drawn_on(text: str, path: Path) -> Iterator[Path]:
    """Files beside ``path`` that its lines name. A rough reading: enough to choose, the compiler reads properly."""
    for line in text.splitlines():
        names: list[str] = []
        if found := _USE.match(line) or _STARTS.match(line):
            names = [found[1]]
        elif found := _EXCURSIONS.match(line):
            names = re.split(r"[,\s]+", found[1])
        for name in names:
            if name:
                yield path.parent / f"{name}.stay"


def _hidden(path: Path, folder: Path) -> bool:
    return any(part.startswith(".") for part in path.relative_to(folder).parts)


def plans_in(folder: Path) -> list[Path]:
    """The plans of a folder, campaigns first, then by name. Files that only draw on each other in a ring are reached
    through the first of them, so that no file goes unread. What is hidden (an environment, a repository)
    is not read."""
    files = sorted(entry for entry in folder.glob("**/*.stay") if not _hidden(entry, folder) and entry.is_file())
    texts = {path: path.read_bytes().decode("utf-8-sig", errors="replace") for path in files}
    draws = {path: [drawn for drawn in _drawn_on(texts[path], path) if drawn in texts] for path in files}
    used = {drawn for path in files for drawn in draws[path] if drawn != path}
    roots = [path for path in files if path not in used]
    roots.sort(key=lambda path: (_CAMPAIGN.search(texts[path]) is None, path))
    reached: set[Path] = set()

    def reach(start: Path) -> None:
        waiting = [start]
        while waiting:
            path = waiting.pop()
            if path not in reached:
                reached.add(path)
                waiting.extend(draws[path])

    for root in roots:
        reach(root)
    for path in files:
        if path not in reached:
            roots.append(path)
            reach(path)
    return roots


def is_campaign(path: Path) -> bool:
    """Whether the file has a line that opens a campaign."""
    return _CAMPAIGN.search(path.read_bytes().decode("utf-8-sig", errors="replace")) is not None


def covers(folder: Path, plans: Iterable[Path]) -> bool:
    """Whether these are all plans below a folder, or more."""
    have = {os.path.realpath(plan) for plan in plans}
    return all(os.path.realpath(plan) in have for plan in plans_in(folder))
