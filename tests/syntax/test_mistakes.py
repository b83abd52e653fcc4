"""Each mistake is reported once, at its own words, whatever else is wrong in the file."""

from __future__ import annotations

import pytest
from helpers_syntax import PARENTS, found, under

from jackstay.source.files import source_from_text
from jackstay.syntax import tree
from jackstay.syntax.parsing import parse

HINTS = [
    ("block", "undo bolts of x says out", "bound-needs-comma", "says"),
    ("excursion", "task t : required after u", "bound-needs-comma", "after"),
    ("excursion", "task t required", "missing-colon", "required"),
    ("top", "item x unit, on y", "missing-colon", "unit"),
    ("top", "item x : unit on y", "clause-needs-comma", "on"),
    ("top", "item with : unit", "reserved-word", "with"),
    ("block", 'note "no end', "unclosed-quote", '"no end'),
    ("block", "undo x [12 min, says y", "unclosed-bracket", "["),
    ("block", "undo x, says y [12 min]", "bracket-order", "["),
    ("block", "undo x [9-20 min]", "range-needs-to", "9-20"),
    ("kind", "carries mass up to 40kg", "unit-needs-blank", "40kg"),
    ("block", "undo x [12]", "missing-unit", "12"),
    ("block", "undo x, says", "missing-value", ""),
    ("top", "let x =", "missing-value", ""),
    ("top", "item x : unit, mass", "missing-value", "mass"),
    ("rule", "never X on ...", "hole-alone", "..."),
    ("block", "note “x”", "straight-quotes", "“"),
    ("top", "item pouch 3 to 1 : bag", "range-order", "1"),
]


@pytest.mark.parametrize(("parent", "line", "hint", "words"), HINTS, ids=lambda value: str(value)[:30])
def test_hint_and_place(parent: str, line: str, hint: str, words: str) -> None:
    node, problems = under(parent, line)
    assert [(problem.rule, problem.facts["hint"]) for problem in problems] == [("unreadable-line", hint)]
    assert isinstance(node, tree.Task if line.startswith("task ") else tree.Unreadable)  # a task keeps its name
    at = problems[0].at
    before = 2 * len(PARENTS[parent])  # the indentation that `under` gives
    assert at.start == before + (line.rfind(words) if words else len(line))


def test_three_mistakes_three_reports() -> None:
    text = (
        "item Kit : bag\n"
        "excursion e\n"
        "  crew wren teal\n"
        "  task t : required\n"
        "    teal at bay\n"
        "      undo bolts of x [12 min says y\n"
        "      take x\n"
    )
    assert found(text) == [("bad-name", 1, 5, 8), ("unreadable-line", 3, 12, 16), ("unreadable-line", 6, 22, 23)]


@pytest.mark.parametrize(
    ("written", "suggested"),
    [
        ("Kit", "kit"),
        ("oldPump", "old-pump"),
        ("old_pump", "old-pump"),
        ("3a", "a3"),
        ("größe", "grosse"),
        ("KIT", "kit"),
    ],
)
def test_bad_name_goes_on_with_the_good_one(written: str, suggested: str) -> None:
    node, problems = under("top", f"item {written} : bag, in {written}")
    assert [(problem.rule, problem.facts["suggestion"]) for problem in problems] == [("bad-name", suggested)] * 2
    assert isinstance(node, tree.Thing) and node.names[0].text == suggested


def test_slots_only_where_allowed() -> None:
    assert under("routine block", "take ITEM")[1] == []
    assert [problem.rule for problem in under("block", "take ITEM")[1]] == ["bad-name"]


@pytest.mark.parametrize(
    ("parent", "line", "form", "belongs"),
    [
        ("top", "crew wren, teal", "crew", ["excursion"]),
        ("excursion", "done when x on y", "done when", ["task"]),
        ("rule", "takes 3 min", "takes", ["action"]),
        ("excursion", "item x : bag", "item", ["top"]),
        ("step", "undo bolts of x", "step", ["routine", "task", "block"]),
        ("excursion", "teal at pump-face", "step", ["routine", "task", "block"]),
    ],
)
def test_misplaced(parent: str, line: str, form: str, belongs: list[str]) -> None:
    _, problems = under(parent, line)
    assert [problem.rule for problem in problems] == ["misplaced-line"]
    assert problems[0].facts["form"] == form
    assert set(problems[0].facts["belongs_under"]) >= set(belongs)


def test_children_of_a_broken_line_are_still_read() -> None:
    text = "excursion e\n  task t required\n    teal at bay\n      take x says y\n"
    text += "  tsak u : wanted\n    teal at\n      note “x”\n"
    assert [(rule, line) for rule, line, _, _ in found(text)] == [
        ("unreadable-line", 2), ("unreadable-line", 4), ("unreadable-line", 5), ("unreadable-line", 7),
    ]  # fmt: skip


def test_children_of_nonsense_are_kept_unread() -> None:
    file, problems = parse(source_from_text("x.stay", "%%%\n  ???\n    !!!\nuse d\n"))
    assert [problem.at.line for problem in problems] == [1]
    assert file.statements[0].children[0].children[0].node == tree.Unreadable("    !!!")
    assert isinstance(file.statements[1].node, tree.Use)


def test_expected_is_readable() -> None:
    _, problems = under("kind", "has mass kg")
    assert problems[0].facts == {"found": "kg", "expected": ["`:`"], "hint": "missing-colon"}
