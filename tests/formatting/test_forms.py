"""The canonical form letter by letter, as ``grammar/README.md`` describes it under "Canonical text"."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from formatting.corpus import formatted, says

from jackstay.formatting.canonical import canonical
from jackstay.source.files import source_from_text

FORMS = (Path(__file__).parent / "forms.txt").read_text(encoding="utf-8")  # its head says how to read it


def _cases() -> list[tuple[str, str, str]]:
    found = []
    for part in FORMS.split("== ")[1:]:
        name, _, rest = part.partition("\n")
        before, _, after = rest.partition("=>\n")
        found.append((name, before, after.removesuffix("\n\n").removesuffix("\n") + "\n"))
    return found


@pytest.mark.parametrize("before, after", [case[1:] for case in _cases()], ids=[case[0] for case in _cases()])
def test_form(before: str, after: str) -> None:
    assert formatted(before) == after
    assert formatted(after) == after
    assert says(before) == says(after)


@pytest.mark.parametrize("text", ["", "\n", "  \n\t\n", "\ufeff", "\r\n\r\n"])
def test_a_file_without_text_is_empty(text: str) -> None:
    assert formatted(text) == ""


def test_only_comments() -> None:
    assert formatted("   # one\n\n\n  # two") == "# one\n\n# two\n"


@pytest.mark.parametrize("end", ["\r\n", "\r", "\n"])
def test_line_ends_and_byte_order_mark(end: str) -> None:
    assert formatted(f"\ufeffuse units{end}{end}let x=3 m{end}{end}") == "use units\n\nlet x = 3 m\n"


def test_tabs_in_front() -> None:
    """Levels made of tabs alone mean the same for any width of a tab."""
    text = "excursion one\n\ttask go : required\n\t\twren\n\t\t\tcome\n\t\t# all\n"
    expected = "excursion one\n  task go : required\n    wren\n      come\n    # all\n"
    assert canonical(source_from_text("x.stay", text)).text == expected


@pytest.mark.parametrize(
    "text",
    [
        "location hub\n    porch : site\n\tbench : site\n",  # beside the porch only if a tab is four columns
        "excursion one\n  task go : required\n\twren\n",  # under the task, or beside it
        "routine go\n  wren\n\tcome\n",  # both can be read: what wren does, or a block after it
    ],
)
def test_tabs_that_may_mean_several_things(text: str) -> None:
    result = canonical(source_from_text("x.stay", text))
    assert result.text is None
    assert "tab-indent" in {problem.rule for problem in result.problems}


def test_a_blank_that_is_none_of_ours() -> None:
    """A no-break blank inside a quantity is read as a blank, and becomes one."""
    assert formatted("let x = 3\u00a0h  30\u2003min\n") == "let x = 3 h 30 min\n"


def test_a_line_that_would_grow_too_long_to_be_read() -> None:
    """A comment at the edge of what is read, one column in, would stand two columns in."""
    comment = "#" + "x" * 3989
    text = "".join(
        " " * depth + line + "\n" for depth, line in enumerate(["excursion e", "task go : required", "wren"])
    )
    text += "   come\n    " + comment + "x" * (4000 - 4 - len(comment)) + "\n"
    result = canonical(source_from_text("x.stay", text))
    assert result.text is None and result.problems == []


def test_a_statement_at_the_edge_of_what_is_read() -> None:
    """Broken into lines its indentation would count too: it stays as it is."""
    refs = [f"item{number:04d} on holder{number:04d}" for number in range(300)]
    text = "action move\n  needs " + ", ".join(refs)
    text = text[: text.rindex(",", 0, 12 + 3990)] + "\n"
    out = formatted(text)
    assert says(out) == says(text)
    assert max(map(len, out.split("\n"))) > 3000


@pytest.mark.parametrize("size", range(30, 54))
def test_a_line_is_full_at_120_columns(size: int) -> None:
    """The comma that a line ends with counts; what would still have fit stands on the line above."""
    name = "X" * size
    out = formatted(f"action move\n  needs {name} on {name}, Y on Z, {name} on Y, Y on {name}, Z on Y, {name} on Z\n")
    lines = out.removesuffix("\n").split("\n")[1:]
    assert len(lines) > 1
    assert all(len(line) <= 120 for line in lines)
    for line, following in pairwise(lines):
        first = following.strip().removeprefix("and ").split(",")[0]
        more = "," in following or following is not lines[-1]
        assert len(f"{line} {first}") + more > 120
