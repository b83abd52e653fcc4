"""Reads the page of edits, and lays them down as commits of a repository.

python -m tests.comparing.history       prints the page with what is told now
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import NamedTuple

PAGE = Path(__file__).with_name("history.md")
DEMO = Path(__file__).parents[2] / "examples" / "tarn-depot"
_FENCE = re.compile(r"^```(\w+)(?: (\S+))?\n(.*?)^```\n", re.MULTILINE | re.DOTALL)


class Commit(NamedTuple):
    """told: without the first line."""

    title: str
    blocks: tuple[tuple[str, str, str], ...]  # edit, words or everywhere; file; text
    told: str

    def make(self, folder: Path) -> None:
        for sort, file, text in self.blocks:
            if sort == "everywhere":
                before, after = text.split()
                for path in sorted(folder.glob("*.stay")):
                    path.write_text(path.read_text(encoding="utf-8").replace(before, after), encoding="utf-8")
                continue
            path = folder / file
            whole = path.read_text(encoding="utf-8")
            if sort == "words":
                lines = text.splitlines()
                hunks = list(zip(lines[::2], lines[1::2], strict=True))
            else:
                hunks = [_hunk(text) for text in text.split("@@\n")]
            for old, new in hunks:
                assert whole.count(old) == 1, f"{self.title}: {whole.count(old)} times in {file}:\n{old}"
                whole = whole.replace(old, new)
            path.write_text(whole, encoding="utf-8")


def _hunk(text: str) -> tuple[str, str]:
    rows = text.splitlines(keepends=True)
    return (
        "".join(row[1:] or "\n" for row in rows if row[0] in "- \n"),
        "".join(row[1:] or "\n" for row in rows if row[0] in "+ \n"),
    )


def commits() -> list[Commit]:
    found = []
    for section in PAGE.read_text(encoding="utf-8").split("\n## ")[1:]:
        fences = _FENCE.findall(section)
        told = "".join(text for sort, _, text in fences if sort == "told")
        found.append(Commit(section.splitlines()[0], tuple(f for f in fences if f[0] != "told"), told))
    return found


def git(folder: Path, *arguments: str) -> str:
    """Run git as an invented author on an invented day, heeding nobody's configuration."""
    environment = {
        "PATH": os.environ["PATH"],
        "HOME": str(folder),
        "GIT_CONFIG_NOSYSTEM": "1",
        "GIT_AUTHOR_NAME": "Ida Sample",
        "GIT_AUTHOR_EMAIL": "ida@example.org",
        "GIT_AUTHOR_DATE": "2026-01-02T03:04:05Z",
        "GIT_COMMITTER_NAME": "Ida Sample",
        "GIT_COMMITTER_EMAIL": "ida@example.org",
        "GIT_COMMITTER_DATE": "2026-01-02T03:04:05Z",
    }
    done = subprocess.run(["git", *arguments], cwd=folder, env=environment, capture_output=True, text=True, check=True)
    return done.stdout.strip()


def repository(folder: Path) -> list[str]:
    """A repository with the demo in ``plans/`` and a commit for each edit. Returns the commits, the demo's first."""
    folder.mkdir(parents=True, exist_ok=True)
    git(folder, "init", "-q", "-b", "main")
    plans = folder / "plans"
    plans.mkdir()
    for path in sorted(DEMO.glob("*.stay")):
        shutil.copy(path, plans / path.name)
    made = [_commit(folder, "The demo")]
    for commit in commits():
        commit.make(plans)
        made.append(_commit(folder, commit.title))
    return made


def _commit(folder: Path, title: str) -> str:
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", title)
    return git(folder, "rev-parse", "HEAD")


def _now() -> None:
    """The page with what is told now, on the standard output; nothing of it where a plan cannot be checked."""
    import tempfile

    from comparing.test_history import told_of

    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        told = told_of(folder, repository(folder))
    head, *parts = PAGE.read_text(encoding="utf-8").split("\n## ")
    made = [head.rstrip("\n")]
    for part, text in zip(parts, told, strict=True):
        kept = _FENCE.sub(lambda found: "" if found[1] == "told" else found[0], part).rstrip("\n")
        made.append(f"## {kept}\n\n```told\n{text}```")
    print("\n\n".join(made))


if __name__ == "__main__":
    _now()
