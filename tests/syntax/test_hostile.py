"""Hostile input ends quickly, with a finding and without an exception."""

from __future__ import annotations

import random
import time
from collections.abc import Callable

import pytest
from helpers_syntax import PARENTS
from hypothesis import given, settings
from hypothesis import strategies as st
from test_forms import FORMS

from jackstay.diagnostics.records import Problem
from jackstay.source.files import source_from_bytes, source_from_text
from jackstay.syntax import tree
from jackstay.syntax.parsing import parse

CASES: list[tuple[str, Callable[[], str], str]] = [
    ("one line of ten megabytes", lambda: "a" * 10_000_000, "line-too-long"),
    ("quotes and signs of comments", lambda: '"#' * 1_000_000, "line-too-long"),
    ("ten thousand levels", lambda: "".join(" " * depth + "a\n" for depth in range(10_000)), "too-deep"),
    ("a name of a hundred thousand letters", lambda: "item " + "a" * 100_000 + " : bag", "line-too-long"),
    ("a name of two thousand letters", lambda: "item " + "a" * 2_000 + " : bag", "name-too-long"),
    ("nested parentheses", lambda: "let x = " + "(" * 1900 + "1" + ")" * 1900, "unreadable-line"),
    ("a long sum", lambda: "let x = " + "1 + " * 900 + "1", "unreadable-line"),
    ("a number of thousands of digits", lambda: "let x = " + "9" * 3900, "unreadable-line"),
    ("a power of thousands of digits", lambda: "let x = 1 m^" + "9" * 3000, ""),
    ("misspelt names without end", lambda: "item " + ", ".join(["Aa"] * 990) + " : bag", "bad-name"),
    ("many continued lines", lambda: "rule r\n  never p on b\n" + "    and q on b\n" * 50_000, "line-too-long"),
    ("many broken lines", lambda: "x ! y\n" * 3_000, "unreadable-line"),
    ("many blanks", lambda: "rule r" + " " * 3_000 + "x", "unreadable-line"),
    ("many numbers", lambda: "let x = " + "1 h " * 900 + "!", "unreadable-line"),
]


@pytest.mark.parametrize(("name", "text", "rule"), CASES, ids=[case[0] for case in CASES])
def test_ends_quickly(name: str, text: Callable[[], str], rule: str) -> None:
    source = source_from_text("x", text())
    started = time.perf_counter()
    _, problems = parse(source)
    assert time.perf_counter() - started < 5
    assert not rule or rule in {problem.rule for problem in problems}


def test_bytes_that_are_no_text() -> None:
    for data, reason in ((b"use a\n\0", "a NUL byte at byte 6"), (b"use a\n\xff", "not UTF-8 at byte 6")):
        problem = source_from_bytes("x", data)
        assert isinstance(problem, Problem) and problem.rule == "unreadable-file"
        assert problem.facts == {"path": "x", "reason": reason} and problem.at.line == 2


def check(text: str) -> None:
    source = source_from_text("x", text)
    file, problems = parse(source)
    for problem in problems:  # every place lies in the text
        assert 1 <= problem.at.line <= len(source.lines)
        assert 0 <= problem.at.start <= problem.at.end <= len(source.lines[problem.at.line - 1])
    unread = [statement for statement in walk(file.statements) if isinstance(statement.node, tree.Unreadable)]
    assert problems or not unread, "nothing is dropped in silence"


def walk(statements: list[tree.Statement]) -> list[tree.Statement]:
    found = list(statements)
    for statement in found:
        found.extend(statement.children)
    return found


LINES = [line for _, line, _ in FORMS] + [line for opening in PARENTS.values() for line in opening]
SIGNS = [*' \t\n,:[]()"#/*^-+=.…“éA0', " and ", " says ", ", on ", " 12 min", "...", "\x00", "\u2028"]


@settings(max_examples=150, deadline=None)
@given(st.randoms(use_true_random=False))
def test_mutated_plans(chance: random.Random) -> None:
    lines = []
    for _ in range(chance.randint(1, 12)):
        line = chance.choice(LINES)
        for _ in range(chance.choice((0, 0, 1, 3))):
            where = chance.randint(0, len(line))
            line = line[:where] + chance.choice(SIGNS) + line[where + chance.randint(0, 4) :]
        lines.append("  " * chance.randint(0, 4) + line)
    check("\n".join(lines))


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    source = source_from_bytes("x", data)
    if not isinstance(source, Problem):
        check(source.text)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=200))
def test_any_text(text: str) -> None:
    check(text)
