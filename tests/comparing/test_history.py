"""A history of the demo in a repository of its own: what is told of each commit, letter by letter."""

from __future__ import annotations

import re
from collections import Counter
from itertools import pairwise
from pathlib import Path

from comparing.history import commits, repository

from jackstay.commands.checking import checked, the_one, today
from jackstay.comparing.compare import compare
from jackstay.comparing.reading import Side
from jackstay.comparing.records import Comparison
from jackstay.comparing.text import as_text
from jackstay.report.cells import wrap
from jackstay.source.revisions import at_revision

WIDTH = 120
_COMMITS = commits()


_PLACE = re.compile(r" \[\S+:\d+\]$")


def rows(text: str, first: str, rest: str) -> list[str]:
    """Without the places of lines, which move with every edit of the demo."""
    lines = wrap(_PLACE.sub("", text), WIDTH - len(rest)) or [""]
    return [(rest if at else first) + line for at, line in enumerate(lines)]


def sides_of(folder: Path, made: list[str]) -> list[Side]:
    found = []
    for commit in made:
        with at_revision(commit, folder / "plans") as laid:
            found.append(Side(checked(the_one(str(laid.path)), today("2027-01-01"))))
    return found


def told(comparison: Comparison) -> str:
    """The whole text but its first line."""
    return "\n".join(as_text(comparison, ("old", "new"), rows).split("\n")[2:])


def told_of(folder: Path, made: list[str]) -> list[str]:
    sides = sides_of(folder, made)
    return [told(compare(old, new)) for old, new in pairwise(sides)]


def test_there_are_enough() -> None:
    assert len(_COMMITS) >= 20
    assert all(commit.told for commit in _COMMITS)


def test_what_the_history_means(tmp_path: Path) -> None:
    """In one test: the plans of all commits are read once."""
    history = sides_of(tmp_path, repository(tmp_path))
    assert {c.title: told(compare(*pair)) for c, pair in zip(_COMMITS, pairwise(history), strict=True)} == {
        commit.title: commit.told for commit in _COMMITS
    }
    for old, new in pairwise(history):
        there, back = compare(old, new), compare(new, old)
        assert Counter(map(repr, there.inverse().changes)) == Counter(map(repr, back.changes))
        assert Counter(map(repr, there.inverse().missing)) == Counter(map(repr, back.missing))
        assert not compare(new, new).changes
    whole = compare(history[0], history[-2])  # one rename stays one record, however much else has changed
    renamed = [change.name for change in whole.changes if change.sort == "renamed" and change.excursion is None]
    assert renamed == [("rest1", "left-rest")]
