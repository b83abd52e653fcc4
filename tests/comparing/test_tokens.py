"""Nothing is silent: any token of the demo's own files that is written otherwise, so that the text is read as another
tree, is a change; and so is each thing that a sheet prints or a rule judges.

More of them with ``PYTHONPATH=tests python -m tests.comparing.test_tokens FIRST LAST``."""

from __future__ import annotations

import random
import re
import shutil
import sys
import tempfile
from collections import Counter
from pathlib import Path

import pytest

from jackstay.commands.checking import checked, the_one, today
from jackstay.comparing.compare import compare
from jackstay.comparing.reading import Side
from jackstay.comparing.records import Rewritten, StepChanged
from jackstay.formatting.meaning import same, walk
from jackstay.source.files import source_from_text
from jackstay.syntax.parsing import parse

EXAMPLES = Path(__file__).parents[2] / "examples"
DEMO = EXAMPLES / "tarn-depot"
MILL = EXAMPLES / "corran-mill"
_TOKEN = re.compile(r'"[^"]*"|#.*|[\w./-]+|[^\s\w]')
_kept: dict[Path, Side] = {}


def side_of(folder: Path) -> Side:
    return Side(checked(the_one(str(folder)), today("2027-01-01")))


def kept(folder: Path) -> Side:
    if folder not in _kept:
        _kept[folder] = side_of(folder)
    return _kept[folder]


def other_tree(old: str, new: str) -> bool:
    one, other = (list(walk(parse(source_from_text("plan.stay", text))[0])) for text in (old, new))
    return len(one) != len(other) or not all(map(same, one, other))


def edited(rng: random.Random) -> tuple[str, str, str]:
    """A file of the demo, its text, and the text with one token otherwise: another's, one letter more, or gone."""
    path = rng.choice(sorted(DEMO.glob("*.stay")))
    text = path.read_text(encoding="utf-8")
    tokens = [found for found in _TOKEN.finditer(text) if not found[0].startswith("#")]
    while True:
        one = rng.choice(tokens)
        word = one[0]
        if word.isdigit():
            made = str(int(word) + rng.choice((1, 2)))
        elif word.startswith('"'):
            made = f'{word[:-1]} now"'
        else:
            made = rng.choice((rng.choice(tokens)[0], f"{word}x", ""))
        changed = text[: one.start()] + made + text[one.end() :]
        if other_tree(text, changed):
            return path.name, text, changed


def judge(seed: int, folder: Path) -> None:
    name, _, text = edited(random.Random(seed))
    new = folder / f"plans-{seed}"
    shutil.copytree(DEMO, new)
    (new / name).write_text(text, encoding="utf-8")
    here, there = kept(DEMO), side_of(new)
    comparison = compare(here, there)
    assert comparison.changed
    back = compare(there, here)
    assert Counter(map(repr, comparison.inverse().changes)) == Counter(map(repr, back.changes))


@pytest.mark.parametrize("seed", range(6))
def test_any_token_of_the_demo(seed: int, tmp_path: Path) -> None:
    judge(seed, tmp_path)


def mill(folder: Path, old: str, new: str, file: str = "clean.stay") -> Side:
    made = folder / "mill"
    shutil.copytree(MILL, made)
    text = (made / file).read_text(encoding="utf-8")
    assert old in text
    (made / file).write_text(text.replace(old, new, 1), encoding="utf-8")
    return side_of(made)


def test_what_fills_a_heading_of_a_permit(tmp_path: Path) -> None:
    changes = compare(kept(MILL), mill(tmp_path, "0-555-0142", "0-555-9999")).changes
    assert [type(one) for one in changes] == [Rewritten]
    (change,) = changes
    assert isinstance(change, Rewritten) and change.name == ("fills entry-permit, rescue",) * 2
    assert change.old is not None and "0142" in change.old and change.new is not None and "9999" in change.new


def test_a_heading_that_is_no_longer_filled(tmp_path: Path) -> None:
    changes = compare(kept(MILL), mill(tmp_path, '    permits "None: no hot work."\n', "")).changes
    gone = [one for one in changes if isinstance(one, Rewritten)]
    assert [(one.name, one.new) for one in gone] == [(("fills entry-permit, permits", None), None)]


def test_the_hazard_that_a_warning_is_of(tmp_path: Path) -> None:
    changes = compare(kept(MILL), mill(tmp_path, 'warning of bad-air "', 'warning "')).changes
    told = [one for one in changes if isinstance(one, StepChanged)]
    assert [(one.what, (one.old or "")[:18], (one.new or "")[:8]) for one in told] == [
        ("remark", "warning of bad-air", "warning:")
    ]


def test_the_order_of_notes(tmp_path: Path) -> None:
    line = '      warning of bad-air "The air can turn bad in minutes'
    old = mill(tmp_path / "old", line, f'      note "One."\n      note "Two."\n{line}')
    new = mill(tmp_path / "new", line, f'      note "Two."\n      note "One."\n{line}')
    told = [(one.sort, getattr(one, "what", "")) for one in compare(old, new).changes]
    assert told == [("step-changed", "order of remarks")]


def test_what_the_project_says_of_findings(tmp_path: Path) -> None:
    made = tmp_path / "demo"
    shutil.copytree(DEMO, made)
    text = '[severity]\nleft-behind = "off"\n[severity."elsewhere/*.stay"]\ncrowded = "note"\n'
    text += '[[allow]]\nrule = "crowded"\nbecause = "two fit"\n'
    (made / "jackstay.toml").write_text(text, encoding="utf-8")
    here, there = kept(DEMO), side_of(made)
    said = [one for one in compare(here, there).changes if isinstance(one, Rewritten)]
    assert [(one.name.new, one.old, one.new) for one in said] == [
        ("jackstay.toml, severity of left-behind", None, "off"),
        ("jackstay.toml, allow crowded", None, 'everywhere, because "two fit"'),
    ]
    back = compare(there, here).changes
    assert [one.inverse() for one in said] == [one for one in back if isinstance(one, Rewritten)]


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        for number in range(int(sys.argv[1]), int(sys.argv[2])):
            try:
                judge(number, Path(scratch))
            except AssertionError as error:
                name, old, new = edited(random.Random(number))
                lines = zip(old.splitlines(), new.splitlines(), strict=False)
                where = next(((a, b) for a, b in lines if a != b), ("", ""))
                print(f"seed {number}: {name}: {where}: {str(error)[:1500]}")
