"""What a finding is known by survives edits elsewhere, and tells apart what is not the same."""

from __future__ import annotations

import datetime
import re
from pathlib import Path

import pytest

from jackstay.diagnostics.fingerprints import Fingerprint, fingerprint
from jackstay.diagnostics.records import Diagnostic, Severity
from jackstay.pipeline import check
from jackstay.source.files import source_from_text
from jackstay.source.spans import Span

MISTAKES = Path(__file__).parents[2] / "examples" / "mistakes"
PLANS = sorted(place.stem for place in MISTAKES.glob("*.stay") if place.stem != "yard")
TODAY = datetime.date(2026, 1, 1)


def prints(folder: Path, plan: str) -> list[Fingerprint]:
    done = check(folder / f"{plan}.stay", TODAY)
    return [fingerprint(finding, done.sources) for finding in done.diagnostics]


def written(folder: Path, plan: str, text: str, yard: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{plan}.stay").write_text(text, encoding="utf-8")
    (folder / "yard.stay").write_text(yard, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def yard() -> str:
    return (MISTAKES / "yard.stay").read_text(encoding="utf-8")


@pytest.mark.parametrize("plan", PLANS)
def test_lines_that_move_comments_and_figures_are_no_news(plan: str, yard: str, tmp_path: Path) -> None:
    text = (MISTAKES / f"{plan}.stay").read_text(encoding="utf-8")
    before = prints(MISTAKES, plan)
    assert before
    lower = "# a line more\n\n" + re.sub(r"^( *)(task \w)", r"\1# and one here\n\1\2", text, flags=re.M)
    lower = re.sub(r"  +#.*$", "", lower, flags=re.M)
    # figures that decide nothing here: what a unit weighs, and another item, declared before all others
    heavier = yard.replace("mass 40 kg", "mass 41 kg").replace(
        "item pump :", "item spare-pump : gear, on bench-rail\nitem pump :"
    )
    assert prints(written(tmp_path, plan, lower, heavier), plan) == before


@pytest.mark.parametrize("plan", PLANS)
def test_a_renaming_elsewhere_is_no_news(plan: str, yard: str, tmp_path: Path) -> None:
    """Whatever the plan does not name at all, and the finding is not about, may have another name."""
    text = (MISTAKES / f"{plan}.stay").read_text(encoding="utf-8")
    before = prints(MISTAKES, plan)
    said = " ".join([text, *(" ".join(one.names) for one in before)])
    others = [
        name
        for name in ("spare-seat", "bench-gauge", "pump-cover", "clamp", "outpost", "driver-b")
        if not re.search(rf"\b{name}\b", said)
    ]
    assert others
    for name in others:
        yard = re.sub(rf"(?<![\w-]){name}(?![\w-])", f"{name}-x", yard)
    assert prints(written(tmp_path, plan, text, yard), plan) == before


def one(text: str, line: int, rule: str = "a-rule", names: tuple[str, ...] = ()) -> Fingerprint:
    source = source_from_text("a.stay", text)
    return fingerprint(
        Diagnostic(rule, Severity.ERROR, "So.", Span("a.stay", line, 0, 1), names=names), {"a.stay": source}
    )


PLAN = """\
excursion first "The first"
  task swap "Swap it" : required, was change
    wren and teal at deck in rest1, on ready
      undo 4 bolts of pump with driver [6 min, 4 to 10], says loose
        because "It has to come off, and, well: off."
    # a comment, not what the next line stands in
      hand pump to teal
  fallback home "Go home", instead of swap,
      then back
    wren at porch
      look round porch
"""


def test_what_it_stands_in() -> None:
    around = ("excursion first", "task change", "wren and teal")
    assert one(PLAN, 4).inside == (*around, "undo bolts of pump with driver")
    assert one(PLAN, 7).inside == (*around, "hand pump to teal")
    assert one(PLAN, 2).inside == ("excursion first", "task change")
    assert one(PLAN, 11).inside == ("excursion first", "fallback home", "wren", "look round porch")
    assert one(PLAN, 9).inside == one(PLAN, 8).inside
    assert one(PLAN, 99).inside == one("", 1).inside == ()


def test_a_task_keeps_the_name_it_had() -> None:
    assert one(PLAN, 4) == one(PLAN.replace("swap ", "change ").replace(", was change", ""), 4)


def test_what_tells_findings_apart() -> None:
    several = {
        one(PLAN, 4),
        one(PLAN, 7),
        one(PLAN, 4, "other-rule"),
        one(PLAN, 4, names=("pump",)),
        one(PLAN, 4, names=("pump", "bolts")),
        one(PLAN.replace("wren and teal", "wren"), 4),
        one(PLAN.replace("excursion first", "excursion second"), 4),
    }
    assert len({found.digest() for found in several}) == len(several) == 7
    assert all(re.fullmatch("[0-9a-f]{32}", found.digest()) for found in several)


def test_a_hostile_line_makes_no_hostile_fingerprint() -> None:
    assert len(one("a" * 100_000, 1).inside[0]) == 120
    deep = "".join(f"{' ' * n}x\n" for n in range(400))
    assert len(one(deep, 400).inside) == 400
