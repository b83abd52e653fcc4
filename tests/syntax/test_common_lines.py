"""Lines read at once because their words and bracket are known: the same nodes as from the table, for any line."""

from __future__ import annotations

import random
from pathlib import Path

import pytest
from helpers_syntax import PARENTS

from jackstay.source.files import source_from_text
from jackstay.syntax import parsing
from jackstay.syntax.tree import Statement

ROOT = Path(__file__).resolve().parents[2]
WORDS = [
    "take",
    "part1",
    "on",
    "rail-2",
    "from",
    "x",
    "not",
    "note",
    "if",
    "because",
    "says",
    "a.b",
    "3",
    "2 bolts",
    "warning",
    "...",
    "in",
    "and",
    "N",
    "Kit",
    "task",
    "allow",
    '"quoted"',
    "of",
    "while",
    "1.5 m",
    "done",
    "to",
    "any",
]
BRACKETS = [
    "",
    "",
    "",
    " [3 min]",
    "[3 min]",
    " [9 to 20 min]",
    " [12 min, 9 to 20]",
    " [4]",
    " [3 min",
    " [a]",
    " []",
    " [1 h 5 min]",
]
TAILS = [
    "",
    "",
    ", says m1",
    ", on m1",
    ", on m1, says m2",
    ", says m1, on m2",
    " , says m",
    ",says m",
    ", says a-b.c",
    ", on a and b",
    ", says on",
    ", on",
    ", on not, says x",
    ", by 5 h",
    ", in daylight",
    ", says m1 ",
    ", wren on m1",
    ", on m1 [3 min]",
    ", says m2, says m3, on x",
    ", says 3a",
    ", says M",
    ", on m-1",
]


def _read(text: str) -> tuple[list[Statement], list[tuple[object, ...]]]:
    file, problems = parsing.parse(source_from_text("x.stay", text))
    return file.statements, [(p.rule, p.at, repr(p.facts)) for p in problems]


def _both_ways(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    parsing.forget()
    common = [_read(text), _read(text)]
    parsing.forget()
    with monkeypatch.context() as patch:
        patch.setattr(parsing, "_COMMON_IN", frozenset())
        table = _read(text)
    assert common == [table, table]


@pytest.mark.parametrize("folder", ["examples", "stdlib"])
def test_plans_of_the_repository(folder: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plans = sorted((ROOT / folder).rglob("*.stay"))
    assert plans
    for plan in plans:
        _both_ways(plan.read_text(encoding="utf-8"), monkeypatch)


@pytest.mark.parametrize("parent", ["task", "block"])
def test_lines_at_random(parent: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Few heads, brackets and tails, so that most are met again in another line: what one line taught, others use."""
    rng = random.Random(7)
    opening = [*("  " * depth + head for depth, head in enumerate(PARENTS[parent]))]
    heads = [" ".join(rng.choices(WORDS, k=rng.randint(1, 4))) for _ in range(40)]
    lines = ["  " * len(opening) + rng.choice(heads) + rng.choice(BRACKETS) + rng.choice(TAILS) for _ in range(1200)]
    _both_ways("\n".join([*opening, *lines]) + "\n", monkeypatch)


def test_equal_words_are_one_tuple() -> None:
    parsing.forget()
    opening = "excursion e\n  task t : required\n    teal\n"
    statements, _ = _read(opening + "      take bag [3 min], says m1\n      take bag, on m2\n")
    first, second = statements[0].children[0].children[0].children
    assert first.node.words is second.node.words  # type: ignore[union-attr]
