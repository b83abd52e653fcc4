"""Indentation, line ends and comments, however odd."""

from __future__ import annotations

from helpers_syntax import found

from jackstay.source.files import SourceFile, source_from_bytes, source_from_text
from jackstay.syntax import tree
from jackstay.syntax.layout import MAX_DEPTH, lay_out
from jackstay.syntax.parsing import parse

PLAN = "excursion e\n  task t : required\n    teal\n      take x\n"


def shape(text: str) -> list[tuple[int, int, int]]:
    return [(line.line, line.column, line.depth) for line in lay_out(source_from_text("x", text)).statements]


def test_line_ends_and_mark_make_no_difference() -> None:
    expected = parse(source_from_text("x", PLAN))
    for data in (PLAN.replace("\n", "\r\n"), PLAN.replace("\n", "\r"), "\ufeff" + PLAN, PLAN.rstrip("\n")):
        source = source_from_bytes("x", data.encode())
        assert isinstance(source, SourceFile)
        assert parse(source) == expected


def test_other_unicode_line_breaks_are_no_line_ends() -> None:
    source = source_from_text("x", 'rule r "b\u2028c\x0bd"\nuse x\n')
    assert len(source.lines) == 2
    assert parse(source)[1] == []


def test_tabs_reach_the_next_multiple_of_eight() -> None:
    text = "excursion e\n        task t : required\n\tcrew wren\n"
    assert shape(text) == [(1, 0, 0), (2, 8, 1), (3, 1, 1)]
    assert found(text) == [("tab-indent", 3, 0, 1)]


def test_dedent_that_matches_nothing() -> None:
    text = "excursion e\n    crew wren\n  crew teal\n  crew moss\nuse x\n"
    assert shape(text) == [(1, 0, 0), (2, 4, 1), (3, 2, 1), (4, 2, 1), (5, 0, 0)]
    assert found(text) == [("odd-indent", 3, 0, 2)]


def test_first_line_indented() -> None:
    assert found("  use d\n  use b\nuse c\n") == [("odd-indent", 1, 0, 2)]


def test_line_under_one_that_takes_none_is_read_beside_it() -> None:
    text = "excursion e\n  crew wren\n    starts as x\n    crew teal\n  crew moss\n"
    file, problems = parse(source_from_text("x", text))
    reported = [(problem.rule, problem.at.line, problem.facts["form"]) for problem in problems]
    assert reported == [("odd-indent", 3, "crew")]
    assert [type(child.node) for child in file.statements[0].children] == [tree.Crew, tree.Starts, tree.Crew, tree.Crew]


def test_comments() -> None:
    text = '# whole\nrule r "b # c" # after "x"\n   #indented\n'
    file, problems = parse(source_from_text("x", text))
    assert problems == []
    assert file.comments == {1: " whole", 2: ' after "x"', 3: "indented"}
    assert file.statements[0].end == 14


def test_too_deep_is_said_once_and_the_rest_goes_on() -> None:
    text = "".join(" " * depth + "a\n" for depth in range(MAX_DEPTH + 10)) + "use x\n"
    layout = lay_out(source_from_text("x", text))
    assert [problem.rule for problem in layout.problems] == ["too-deep"]
    assert layout.problems[0].at.line == MAX_DEPTH + 2
    assert layout.statements[-1].depth == 0


def test_a_long_line_costs_only_itself() -> None:
    text = "rule r\n  never x on " + "y" * 5000 + "\n    and z on q\n  never p on q\n"
    file, problems = parse(source_from_text("x", text))
    assert [(problem.rule, problem.facts["length"]) for problem in problems] == [("line-too-long", 5013)]
    assert [type(child.node) for child in file.statements[0].children] == [tree.Unreadable, tree.Never]
