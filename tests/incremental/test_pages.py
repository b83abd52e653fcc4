"""Blocks keep their numbers while lines come and go around them, and lead back to the lines of the file."""

from __future__ import annotations

import random

from incremental.campaigns import CAMPAIGNS
from incremental.edits import edit

from jackstay.keeping.pages import Pages
from jackstay.source.files import SourceFile, source_from_text
from jackstay.source.spans import Span
from jackstay.syntax.parsing import parse
from jackstay.syntax.tree import Statement

_TEXT = "# head\n\nuse units\n\nlocation a\n  b : place\n# tail of a\n\nlocation c\n  d : place\n"


def _source(text: str) -> SourceFile:
    return source_from_text("plan.stay", text)


def _numbers(pages: Pages, text: str) -> list[int]:
    file, _ = pages.parse(_source(text))
    return [statement.line for statement in file.statements]


def test_lines_above_change_no_number() -> None:
    pages = Pages()
    before = _numbers(pages, _TEXT)
    assert _numbers(pages, "# more\n\n\n" + _TEXT) == before
    assert _numbers(pages, _TEXT.replace("  b : place\n", "  b : place\n  e : place\n")) == before
    assert before == sorted(before)


def test_a_block_between_two_finds_place_between_them() -> None:
    pages = Pages()
    first, second, third = _numbers(pages, _TEXT)
    again = _numbers(pages, _TEXT.replace("location c", "location x\n  y : place\nlocation c"))
    assert [again[0], again[1], again[3]] == [first, second, third]
    assert second < again[2] < third


def test_room_that_has_run_out_is_made_anew() -> None:
    pages = Pages()
    text = "location a\n  b : place\nlocation z\n"
    _numbers(pages, text)
    for n in range(60):  # always at the same place
        text = text.replace("location z", f"location l{n}\nlocation z")
        numbers = _numbers(pages, text)
        assert numbers == sorted(set(numbers)) and len(numbers) == n + 3


def test_numbers_lead_back_and_forth() -> None:
    pages = Pages()
    pages.parse(_source(_TEXT))
    page = pages.known["plan.stay"]
    for line in range(3, 11):
        assert page.line(page.number(line)) == line
        assert page.numbered.lines[page.number(line) - 1] == _source(_TEXT).lines[line - 1]
    assert page.line(len(page.numbered.lines)) == 10
    assert pages.line(Span("plan.stay", 1, 0, 0)) == 1
    assert pages.shown(Span("other.stay", 7, 1, 2)) == Span("other.stay", 7, 1, 2)


def test_blocks_read_like_the_whole() -> None:
    """After any edit the statements and problems are those of the plain parser, at their lines."""
    for campaign, make in CAMPAIGNS.items():
        rng, pages = random.Random(campaign), Pages()
        _, files = make()
        for _ in range(150):
            name = rng.choice(sorted(files))
            changed = edit({name: files[name]}, rng)
            if rng.random() < 0.5:
                files = {**files, **changed}
            source = source_from_text(name, changed[name])
            file, problems = pages.parse(source)
            plain, wrong = parse(source)
            assert [(pages.shown(p.at), p.rule, p.facts) for p in problems] == [(p.at, p.rule, p.facts) for p in wrong]
            assert _tree(pages, name, file.statements) == _tree(Pages(), name, plain.statements)


def _tree(pages: Pages, path: str, statements: list[Statement]) -> list[object]:
    return [
        (pages.line(Span(path, one.line, 0, 0)), one.start, one.end, one.node, _tree(pages, path, one.children))
        for one in statements
    ]
