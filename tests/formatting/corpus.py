"""Every text that the formatter is tried on, and measures of what it must keep that share nothing with it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pages
from oracles.generate import plan_from
from oracles.generate_sets import sets_from
from oracles.generate_variants import variants_from
from oracles.writing import text_of

from jackstay.formatting.canonical import canonical
from jackstay.source.files import SourceFile, source_from_bytes, source_from_text
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import File, Statement

ROOT = Path(__file__).resolve().parents[2]
PAGES = [*sorted((ROOT / "tests" / "spec").glob("*.md")), *sorted((ROOT / "compiler" / "rules").glob("*/*.md"))]
_AT = re.compile(r"At\(down=\d+, start=\d+, end=\d+\)")


def files() -> list[Path]:
    """The plan files of the repository."""
    found = [
        *(ROOT / "stdlib").rglob("*.stay"),
        *(ROOT / "examples").rglob("*.stay"),
        *(ROOT / "tests").rglob("*.stay"),
    ]
    return sorted(found)


@cache
def projects() -> list[tuple[Path, pages.Project]]:
    """The projects of all pages."""
    return [(page, project) for page in PAGES for project in pages.projects(page.read_text(encoding="utf-8"))]


@cache
def written() -> dict[str, SourceFile]:
    """Every file that somebody has written, by a name to know it by; equal ones once."""
    found: dict[str, SourceFile] = {}
    seen: set[bytes] = set()
    texts = [(path.relative_to(ROOT).as_posix(), path.read_bytes()) for path in files()]
    for page, project in projects():
        texts += [(f"{page.stem}:{project.line}:{name}", data) for name, data in project.files.items()]
    for name, data in texts:
        source = source_from_bytes(name, data)
        if data not in seen and isinstance(source, SourceFile):
            seen.add(data)
            found[name] = source
    return found


@cache
def readable() -> dict[str, str]:
    """The texts of those with nothing wrong in their form."""
    return {name: source.text for name, source in written().items() if not parse(source)[1]}


def generated(seed: int) -> str:
    """A generated plan: every third with tasks that may be dropped and fallbacks, every third with sets of them."""
    if seed % 3 == 0:
        return text_of(plan_from(seed))
    return text_of(variants_from(seed) if seed % 3 == 1 else sets_from(seed)[0])


# --- what a text says ------------------------------------------------------------------------------------------------


def read(text: str) -> File:
    """The tree of a text without problems."""
    file, problems = parse(source_from_text("x.stay", text))
    assert not problems, problems
    return file


def says(text: str) -> list[tuple[int, str]]:
    """Each statement of a text, with its depth: its node printed, places taken out."""
    found: list[tuple[int, str]] = []

    def look(statements: list[Statement], depth: int) -> None:
        for statement in statements:
            found.append((depth, _AT.sub("At", repr(statement.node))))
            look(statement.children, depth + 1)

    look(read(text).statements, 0)
    return found


def remarks(text: str) -> list[tuple[int, bool, str]]:
    """Each comment of a text, with the number of the statement that it stands behind or within (True), or before which
    it stands (False)."""
    file = read(text)
    lines = text.split("\n")
    starts: list[int] = []

    def look(statements: list[Statement]) -> None:
        for statement in statements:
            starts.append(statement.line)
            look(statement.children)

    look(file.statements)
    found: list[tuple[int, bool, str]] = []
    for row, comment in file.comments.items():
        above = sum(1 for start in starts if start <= row)
        behind = not lines[row - 1].lstrip(" \t").startswith("#") or _goes_on(lines, row, starts)
        found.append((above - 1 if behind else above, behind, comment))
    return found


def _goes_on(lines: list[str], row: int, starts: list[int]) -> bool:
    """Whether the next words below a comment go on with a statement above it."""
    for number in range(row + 1, len(lines) + 1):
        words = lines[number - 1].strip(" \t")
        if words and not words.startswith("#"):
            return number not in starts
    return False


def formatted(text: str) -> str:
    """The canonical text of a text that has one."""
    result = canonical(source_from_text("x.stay", text))
    assert result.text is not None, result.problems
    return result.text
