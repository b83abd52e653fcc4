"""Small real plans in a folder, and a git repository around them, for commands that are tried as they are used."""

from __future__ import annotations

import subprocess
from pathlib import Path

MISTAKES = Path(__file__).parents[2] / "examples" / "mistakes"


def put(folder: Path, *plans: str) -> None:
    """Plans of the examples, each with its one finding, beside the site that they share."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in ("yard", *plans):
        (folder / f"{name}.stay").write_bytes((MISTAKES / f"{name}.stay").read_bytes())


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text(encoding="utf-8")
    assert old in text, f"{path} has no {old!r}"
    path.write_text(text.replace(old, new, 1), encoding="utf-8")


def git(folder: Path, *words: str) -> None:
    who = ("-c", "user.name=nobody", "-c", "user.email=nobody@example.org", "-c", "commit.gpgsign=false")
    subprocess.run(["git", "-C", str(folder), *who, *words], check=True, capture_output=True)


def repository(folder: Path) -> None:
    """All that is in the folder, in one commit."""
    git(folder, "init", "-q", "-b", "main")
    commit(folder)


def commit(folder: Path) -> None:
    git(folder, "add", "-A")
    git(folder, "commit", "-q", "-m", "as it is")
