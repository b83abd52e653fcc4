"""Formatting changes nothing but white space, and a second time changes nothing at all."""

from __future__ import annotations

import random
import re
from itertools import pairwise
from pathlib import Path

import pages
import pytest
from formatting.corpus import formatted, generated, projects, read, readable, remarks, says, written
from formatting.noise import careless, split
from hypothesis import given, settings
from hypothesis import strategies as st

from jackstay.diagnostics.records import Diagnostic
from jackstay.formatting import canonical as module
from jackstay.formatting.canonical import canonical
from jackstay.formatting.pieces import Piece
from jackstay.source.files import source_from_text
from jackstay.syntax.layout import lay_out
from jackstay.syntax.parsing import parse


def holds(text: str) -> str:
    """What must hold of the canonical form of a text; returns it."""
    out = formatted(text)
    assert says(out) == says(text)
    assert remarks(out) == remarks(text)
    assert formatted(out) == out
    lines = out.split("\n")
    assert lines.pop() == "", "no line end at the end"
    assert "" not in (lines[:1] + lines[-1:]), "an empty line at the edge"
    assert all(a or b for a, b in pairwise(lines)), "two empty lines"
    for line in lines:
        pad, words, comment = split(line)
        assert line == line.rstrip(" \t") and "\t" not in pad
        assert len(pad) % 2 == 0
        assert not words or not comment or line == f"{pad}{words}  {comment}"
        bare = re.sub(r'"[^"]*"', '""', words)
        assert "  " not in bare and "\t" not in bare and " ," not in bare
        assert len(pad + words) <= 120 or not re.search(r"\S (?:and|or|then) ", bare), line
    return out


def test_there_is_enough_to_try() -> None:
    assert len(readable()) > 300
    assert {name for name in written() if name.startswith("stdlib/")} <= set(readable())
    assert any("\n    then " in text for text in readable().values())


@pytest.mark.parametrize("slice_", range(6))
def test_every_text_in_the_repository(slice_: int) -> None:
    for name, text in list(readable().items())[slice_::6]:
        try:
            holds(text)
        except AssertionError as error:
            error.add_note(name)
            raise


def test_what_cannot_be_read_has_no_canonical_text() -> None:
    broken = {name: source for name, source in written().items() if name not in readable()}
    assert len(broken) > 20
    for name, source in broken.items():
        result = canonical(source)
        assert result.problems == parse(source)[1] or {p.rule for p in parse(source)[1]} == {"tab-indent"}, name


@pytest.mark.parametrize("slice_", range(4))
def test_generated_plans(slice_: int) -> None:
    for seed in range(slice_ * 30, slice_ * 30 + 30):
        holds(generated(seed))


TEXTS = sorted(name for name, text in readable().items() if 20 < len(text) < 6000)


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(TEXTS), st.integers(0, 2**32))
def test_white_space_makes_no_difference(name: str, seed: int) -> None:
    out = formatted(readable()[name])
    other = careless(out, random.Random(seed))
    assert formatted(other) == out


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 5000), st.integers(0, 2**32))
def test_white_space_of_generated_plans(seed: int, noise: int) -> None:
    out = formatted(generated(seed))
    assert formatted(careless(out, random.Random(noise))) == out


@settings(max_examples=80, deadline=None)
@given(st.sampled_from(TEXTS), st.data())
def test_comments_alter_nothing_around_them(name: str, data: st.DataObject) -> None:
    """Comments thrown in anywhere come out in their order, at their statements, the rest as if they were not."""
    bare = "".join(f"{pad}{words}\n" for pad, words, _ in map(split, formatted(readable()[name]).split("\n")) if words)
    out = formatted(bare)
    chance = random.Random(data.draw(st.integers(0, 2**32)))
    lines: list[str] = []
    number = 0
    for line in out.split("\n")[:-1]:
        while chance.random() < 0.15:
            number += 1
            lines.append(" " * chance.randint(0, 9) + f"#{number}")
        if chance.random() < 0.15:
            number += 1
            line += chance.choice(("", " ", "     ")) + f"# {number}"
        lines.append(line)
        lines += [""] * chance.choice((0, 0, 0, 0, 1, 3))
    commented = "\n".join(lines)
    again = holds(commented)
    assert len(read(again).comments) == number
    rest = "".join(f"{pad}{words}\n" for pad, words, _ in map(split, again.split("\n")) if words)
    assert rest == out


# --- what the compiler says of it ------------------------------------------------------------------------------------


def _told(found: list[Diagnostic], files: dict[str, bytes]) -> list[tuple[str, str, int, str]]:
    """Findings, with the number of their statement in place of their line."""
    starts = {}
    for name, data in files.items():
        statements = lay_out(source_from_text(name, data.decode())).statements
        starts[name] = [statement.line for statement in statements]
    return sorted(
        (
            finding.rule,
            finding.at.path,
            sum(1 for line in starts.get(finding.at.path, []) if line <= finding.at.line),
            re.sub(r"\s+", "", re.sub(r"\bline \d+|:\d+", "line", finding.message)),  # messages quote the text
        )
        for finding in found
    )


def _sample() -> list[tuple[str, pages.Project]]:
    """Every seventh project whose files can all be read."""
    found = []
    for number, (page, project) in enumerate(projects()):
        if number % 7 == 0:
            try:
                texts = [data.decode() for data in project.files.values()]
            except UnicodeDecodeError:
                continue
            if not any(parse(source_from_text("x.stay", text))[1] for text in texts):
                found.append((f"{page.stem}:{project.line}", project))
    return found


SAMPLE = _sample()


@pytest.mark.parametrize("project", [one for _, one in SAMPLE], ids=[name for name, _ in SAMPLE])
def test_the_findings_are_the_same(project: pages.Project, tmp_path: Path) -> None:
    before, after = tmp_path / "before", tmp_path / "after"
    before.mkdir()
    after.mkdir()
    # Careless text in between, so that something changes: what is written on the pages is canonical mostly.
    chance = random.Random(len(SAMPLE))
    files = {
        name: source_from_text(name, careless(formatted(data.decode()), chance)).text.encode()
        for name, data in project.files.items()
    }
    careless_one = pages.Project(project.headings, project.line, project.prose, files, [], project.today)
    done = {name: formatted(data.decode()).encode() for name, data in files.items()}
    formatted_one = pages.Project(project.headings, project.line, project.prose, done, [], project.today)
    first = _told(pages.findings(careless_one, before), files)
    assert _told(pages.findings(formatted_one, after), done) == first


def test_the_sample_has_findings_and_clean_plans() -> None:
    assert len(SAMPLE) > 40
    assert sum(1 for _, project in SAMPLE if project.marks) > 10
    assert sum(1 for _, project in SAMPLE if not project.marks) > 10


# --- when the formatter is wrong -------------------------------------------------------------------------------------


def test_words_that_would_change_are_written_as_they_were(monkeypatch: pytest.MonkeyPatch) -> None:
    """A mistake in the spacing of words costs the spacing, never the words."""
    text = "use   units\nlet   x=3 m\nlet   y = 4 m\n"
    right = module.pieces

    def wrong(placed: object, words: str) -> list[Piece]:
        return [piece._replace(text=piece.text.replace("3 m", "3 km")) for piece in right(placed, words)]  # type: ignore[arg-type]

    monkeypatch.setattr(module, "pieces", wrong)
    assert canonical(source_from_text("x.stay", text)).text == "use units\nlet   x=3 m\nlet y = 4 m\n"


def test_a_comment_that_would_be_lost_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "within", lambda *_: ({0: [""]}, set()))
    result = canonical(source_from_text("x.stay", "use units  # all of them\n"))
    assert result.text is None and result.problems == []
