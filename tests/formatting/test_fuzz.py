"""Whatever the text is: canonical text that says the same, or what is wrong with it; never an exception."""

from __future__ import annotations

import random

import pytest
from formatting.corpus import remarks, says
from fuzz.mutate import spoilt
from fuzz.plans import lines_of, projects
from hypothesis import given, settings
from hypothesis import strategies as st

from jackstay.formatting.canonical import canonical
from jackstay.source.files import SourceFile, source_from_bytes, source_from_text
from jackstay.syntax.parsing import parse

STARTS = projects()
FOREIGN = lines_of(STARTS)


def judge(source: SourceFile) -> bool:
    """Whether the text has a canonical form, which then keeps what it must."""
    result = canonical(source)
    problems = parse(source)[1]
    if result.text is None:
        assert result.problems == problems
        return False
    assert canonical(source_from_text(source.path, result.text)).text == result.text
    if problems:
        assert {problem.rule for problem in problems} == {"tab-indent"}
    else:
        assert says(result.text) == says(source.text)
        assert remarks(result.text) == remarks(source.text)
    return True


@pytest.mark.parametrize("slice_", range(4))
def test_spoilt_files(slice_: int) -> None:
    formed = tried = 0
    for seed in range(slice_ * 40, slice_ * 40 + 40):
        chance = random.Random(seed)
        start = chance.choice(STARTS)
        project = spoilt(start, chance, FOREIGN)
        for name, text in project.files.items():
            if text == start.files[name]:
                continue
            source = source_from_bytes(name, text.encode("utf-8", errors="surrogatepass"))
            if isinstance(source, SourceFile):
                tried += 1
                try:
                    formed += judge(source)
                except Exception as error:
                    error.add_note(f"seed {seed}, {name}")
                    raise
    assert 5 < formed < tried, "nothing is tried when all files are broken, or none"


@settings(max_examples=150, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(("", "  ", "    ", "      ", "\t")), st.sampled_from(FOREIGN)), max_size=12))
def test_lines_from_anywhere(lines: list[tuple[str, str]]) -> None:
    judge(source_from_text("x.stay", "\n".join(indent + line for indent, line in lines)))


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=300))
def test_any_text(text: str) -> None:
    judge(source_from_text("x.stay", text))


WORDS = [
    "and", "or", "then", "on", "wren", "x", ",", ", ", " ", "\n    ", "\n", "  # c\n", '"q"', "3 min", "[3 min]", "of",
    "says", "while", "(", ")", "task t : required", "excursion e", "  task t : required\n    wren\n      ", "12",
]  # fmt: skip


@settings(max_examples=300, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=25))
def test_words_from_anywhere_in_a_block(words: list[str]) -> None:
    """Lines of free words, where a break can change what the comma above it means."""
    judge(source_from_text("x.stay", "excursion e\n  task t : required\n    wren\n      go " + " ".join(words)))
