"""What the fuzz starts from: the example campaign and plans, and copies of the vocabularies under names of their own.

A project is file name -> text. Vocabularies may not stand beside a plan under the name they ship with, so the copies
are called ``our-suited`` and so on, and every ``use`` is changed with them: then their lines can be spoilt too.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
_SHIPPED = ("units", "suited", "arm", "cabin")
_USES = re.compile(rf"^(use +)({'|'.join(_SHIPPED)})\b", re.MULTILINE)


@dataclass(frozen=True)
class Project:
    """name: for reports. root: the file that is checked. spoilt: the files whose lines may be changed."""

    name: str
    root: str
    files: dict[str, str]
    spoilt: tuple[str, ...]


def _read(folder: Path) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.stay"))}


def _with_own_vocabulary(files: dict[str, str]) -> dict[str, str]:
    files = {**files, **{f"our-{name}": text for name, text in _read(ROOT / "stdlib").items()}}
    return {name: _USES.sub(r"\1our-\2", text) for name, text in files.items()}


def projects() -> list[Project]:
    """Every starting point, in a fixed order; light ones far outnumber the campaign."""
    found: list[Project] = []
    mistakes = _read(ROOT / "examples" / "mistakes")
    yard = mistakes.pop("yard.stay")
    for name, text in mistakes.items():
        files = {name: text, "yard.stay": yard}
        found.append(Project(f"mistakes/{name}", name, files, (name, name, "yard.stay")))
        own = tuple(f"our-{vocabulary}.stay" for vocabulary in _SHIPPED)
        found.append(Project(f"own vocabulary/{name}", name, _with_own_vocabulary(files), own))
    demo = _read(ROOT / "examples" / "tarn-depot")
    found.append(Project("tarn-depot", "campaign.stay", demo, tuple(demo)))
    for name in ("first.stay", "second.stay", "third.stay"):
        alone = re.sub(r"(?m)^  starts as .*$", "  starts as depot", demo[name])
        files = {name: alone, "depot.stay": demo["depot.stay"]}
        found.append(Project(f"tarn-depot/{name}", name, files, (name, name, "depot.stay")))
    return found


def lines_of(found: list[Project]) -> list[str]:
    """Every line that any project has, without its indentation, each once: what foreign lines are made of."""
    return sorted({line.strip() for project in found for text in project.files.values() for line in text.splitlines()})
