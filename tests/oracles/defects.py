"""Defects seeded into a campaign, one at a time: a step forgotten, a wait forgotten, crew swapped, a thing mixed up, a
stow in the wrong place. Each must be found, or be in `survivors.txt` with the reason why it is no defect.

    python tests/oracles/defects.py            every mutant of the demo; prints those that nothing finds
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

if __name__ == "__main__":
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from jackstay.flow.analyse import analyse
from jackstay.model.from_syntax import build_world
from jackstay.model.records import World
from jackstay.source.files import source_from_text
from jackstay.source.library import Library
from jackstay.syntax.modules import load

DEMO = Path(__file__).resolve().parents[2] / "examples" / "tarn-depot"
SURVIVORS = Path(__file__).with_name("survivors.txt")
EXCURSIONS = ("first", "second", "third")
STOWS = ("put ", "stow ", "leave ", "park ", "clip ", "unclip ", "take ", "pack ", "hand ")
HEADLINE = ("done when", "because", "warning", "caution", "note", "if ", "allow")


class Mutant(NamedTuple):
    """key: file, sort and changed line: stable while the plan's text is. text: the whole file, changed."""

    key: str
    file: str
    text: str


def mutants(folder: Path = DEMO) -> list[Mutant]:
    world, problems = world_of(folder)
    assert not problems, problems
    out: list[Mutant] = []
    for name in EXCURSIONS:
        lines = (folder / f"{name}.stay").read_text(encoding="utf-8").split("\n")
        for sort, line, changed in _changes(lines, world):
            out.append(Mutant(f"{name}.stay | {sort} | {line}", name, "\n".join(changed)))
    counts: dict[str, int] = {}
    for i, mutant in enumerate(out):  # the same line twice is told apart by a number
        counts[mutant.key] = counts.get(mutant.key, 0) + 1
        if counts[mutant.key] > 1:
            out[i] = mutant._replace(key=f"{mutant.key} ({counts[mutant.key]})")
    return out


def _changes(lines: list[str], world: World) -> Iterator[tuple[str, str, list[str]]]:
    kinds = {t.name: t.kind for t in world.things if t.sort == "item"}
    for i, line in enumerate(lines):
        text = line.strip()
        depth = len(line) - len(line.lstrip())
        end = i + 1
        while end < len(lines) and lines[end].strip() and len(lines[end]) - len(lines[end].lstrip()) > depth:
            end += 1
        if depth == 4 and re.match(r"(wren|teal)\b", text) and not text.startswith(HEADLINE):
            swapped = re.sub(r"\b(wren|teal)\b", lambda m: {"wren": "teal", "teal": "wren"}[m[1]], _head(line))
            yield "swap crew", text, [*lines[:i], swapped + line[len(_head(line)) :], *lines[i + 1 :]]
        if depth in (4, 6):
            for mark in re.findall(r"(?:\bon | and )([\w.-]+)(?=[^\"]*$)", _bounds(line)):
                shorter = _without_wait(line, mark)
                if shorter != line:
                    yield "forget wait", f"{text} -- {mark}", [*lines[:i], shorter, *lines[i + 1 :]]
        if depth != 6 or text.startswith(HEADLINE):
            continue
        if "says" not in text:
            yield "forget step", text, [*lines[:i], *lines[end:]]
        elif not text.startswith(("call ", "hold off")):  # the call stays, the deed is forgotten
            call = "hold off" if _block_of(lines, i).startswith("heron") else None
            call = call or ('ask wren to say "Done."' if _block_of(lines, i).startswith("moss") else 'call "Done."')
            bounds = re.search(r", says [\w-]+", text)
            if bounds and " and " not in _block_of(lines, i).split(" at ")[0]:
                yield "forget step", text, [*lines[:i], " " * 6 + call + bounds[0], *lines[end:]]
        for name in re.findall(r"[\w-]+", text.split('"')[0].split(",")[0]):
            other = next((o for o, kind in kinds.items() if o != name and name in kinds and kind is kinds[name]), None)
            if other is not None:
                yield (
                    "mix up",
                    f"{text} -- {other}",
                    [*lines[:i], re.sub(rf"(?<![\w-]){name}(?![\w-])", other, line, count=1), *lines[i + 1 :]],
                )
        after = end
        while after < len(lines) and lines[after].strip() and len(lines[after]) - len(lines[after].lstrip()) > 6:
            after += 1
        movable = text.startswith(STOWS) and end < len(lines) and re.match(r" {6}\S", lines[end])
        if movable and not lines[end].strip().startswith(HEADLINE):
            stop = end + 1
            while stop < len(lines) and lines[stop].strip() and len(lines[stop]) - len(lines[stop].lstrip()) > 6:
                stop += 1
            yield "stow later", text, [*lines[:i], *lines[end:stop], *lines[i:end], *lines[stop:]]


def _head(line: str) -> str:
    """A heading up to its bounds: who, where, in what."""
    return re.split(r",\s+on ", line)[0]


def _bounds(line: str) -> str:
    found = re.search(r",\s+on [\w.-]+(?: and [\w.-]+)*", line)
    return found[0] if found else ""


def _without_wait(line: str, mark: str) -> str:
    bounds = _bounds(line)
    marks = [m for m in re.split(r" and ", bounds.split("on ", 1)[1]) if m != mark]
    return line.replace(bounds, f", on {' and '.join(marks)}" if marks else "", 1)


def _block_of(lines: list[str], i: int) -> str:
    while not re.match(r" {4}\S", lines[i]):
        i -= 1
    return lines[i].strip()


def world_of(folder: Path, overlay: Mutant | None = None) -> tuple[World, list[str]]:
    library = Library(folder)
    if overlay is not None:
        library.overlay[f"{overlay.file}.stay"] = source_from_text(f"{overlay.file}.stay", overlay.text)
    loaded = load(library, "campaign")
    world, problems = build_world(loaded.modules)  # type: ignore[arg-type]
    return world, [p.rule for p in (*loaded.problems, *problems)]


def found_in(mutant: Mutant, folder: Path = DEMO) -> list[str]:
    """The rules of all problems, without what is only undecided."""
    world, problems = world_of(folder, mutant)
    if not problems:
        flow = analyse(world)
        problems = [p.rule for p in (*flow.problems, *(p for e in flow.excursions for p in e.problems))]
    return [rule for rule in problems if rule != "not-decided"]


def survivors() -> dict[str, str]:
    """key -> the reason why it is no defect."""
    out = {}
    for line in SURVIVORS.read_text(encoding="utf-8").splitlines():
        if line.strip() and not line.startswith("#"):
            key, _, reason = line.partition("  =>  ")
            out[key.strip()] = reason.strip()
    return out


def main() -> int:
    known = survivors() if SURVIVORS.exists() else {}
    every = mutants()
    alive: list[str] = []
    for i, mutant in enumerate(every):
        if not found_in(mutant):
            alive.append(mutant.key)
        if sys.stderr.isatty():
            print(f"\r{i + 1} of {len(every)} mutants, {len(alive)} not found", end="", file=sys.stderr)
    for key in alive:
        print(f"{key}  =>  {known.get(key, 'NOT REVIEWED')}")
    stale = [key for key in known if key not in alive]
    print(f"# {len(every)} mutants, {len(alive)} not found, {len(stale)} reviewed lines no longer needed")
    for key in stale:
        print(f"# stale: {key}")
    return 1 if any(key not in known for key in alive) or stale else 0


if __name__ == "__main__":
    sys.exit(main())
