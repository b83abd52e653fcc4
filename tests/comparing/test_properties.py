"""What holds of any two plans: a plan has not changed against itself, and the way back is the inverse of the way there.

The plans are those of the oracles, beside one another and after a small change to their text; more of them with
``PYTHONPATH=tests python -m tests.comparing.test_properties FIRST LAST``."""

from __future__ import annotations

import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

import pytest
from oracles.generate import plan_from
from oracles.writing import text_of

from jackstay.commands.compare import wrapped
from jackstay.comparing.compare import compare
from jackstay.comparing.data import as_json
from jackstay.comparing.matching import Sides, matched_units
from jackstay.comparing.names import matched_names
from jackstay.comparing.reading import Side
from jackstay.comparing.records import StepAdded, StepDropped
from jackstay.comparing.text import as_markdown, as_text
from jackstay.pipeline import check


def side_of(text: str, folder: Path) -> Side:
    path = folder / "plan.stay"
    path.write_text(text, encoding="utf-8")
    return Side(check(path))


def edited(text: str, rng: random.Random) -> str:
    """One line of the steps dropped, doubled, moved, or put under another heading."""
    lines = text.splitlines()
    steps = [at for at, line in enumerate(lines) if line.startswith("      ")]
    heads = [at for at, line in enumerate(lines) if line.startswith("    ") and line[4:5].strip()]
    if not steps or not heads:
        return text
    at, other = rng.choice(steps), rng.choice(steps)
    how = rng.choice(("drop", "double", "move", "head"))
    if how == "drop":
        del lines[at]
    elif how == "double":
        lines.insert(at, lines[at].partition(", says")[0])
    elif how == "move":
        lines[at], lines[other] = lines[other], lines[at]
    else:
        lines[rng.choice(heads)] = lines[rng.choice(heads)]
    return "\n".join(lines) + "\n"


def pair_of(seed: int) -> tuple[str, str]:
    text, rng = text_of(plan_from(seed)), random.Random(seed)
    return text, text_of(plan_from(seed + 5)) if seed % 3 == 0 else edited(text, rng)


def judge(seed: int, folder: Path) -> None:
    first, second = pair_of(seed)
    old, new = side_of(first, folder), side_of(second, folder)
    assert not compare(old, side_of(first, folder)).changes
    there, back = compare(old, new), compare(new, old)
    assert Counter(map(repr, there.inverse().changes)) == Counter(map(repr, back.changes))
    assert Counter(map(repr, there.inverse().missing)) == Counter(map(repr, back.missing))
    assert there.changed or first == second  # every one of these edits means something
    for made in (as_text(there, ("a", "b"), wrapped(80)), as_markdown(there, ("a", "b")), as_json(there, ("a", "b"))):
        assert made.endswith("\n")
    _every_step(old, new)


def _every_step(old: Side, new: Side) -> None:
    """Each step is matched with one of the other side, or told as new or gone, or its task is; never twice."""
    names = matched_names(old.meaning, new.meaning)
    comparison = compare(old, new)
    for one in old.meaning.excursions:
        other = next(e for e in new.meaning.excursions if e.name == names.excursions[one.name])
        sides = Sides(one, other, names)
        pairs = matched_units(sides)
        assert len({id(a) for a, _ in pairs}) == len({id(b) for _, b in pairs}) == len(pairs)
        assert all(a.verb == b.verb for a, b in pairs)
        known = {name for _, name in names.tasks}, {name for _, name in names.tasks.values()}
        for side, units, sort in ((0, sides.old, StepDropped), (1, sides.new, StepAdded)):
            kept = {id(pair[side]) for pair in pairs}
            alone = Counter(unit.text for unit in units if id(unit) not in kept and unit.task in known[side])
            told = Counter(change.step.text for change in comparison.changes if isinstance(change, sort))
            assert alone == told


@pytest.mark.parametrize("seed", range(0, 2_000, 50))
def test_there_and_back(seed: int, tmp_path: Path) -> None:
    judge(seed, tmp_path)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as made:
        for number in range(int(sys.argv[1]), int(sys.argv[2])):
            try:
                judge(number, Path(made))
            except AssertionError as error:
                print(f"seed {number}: {str(error)[:2000]}")
