"""An excursion that starts from a promise can be checked apart: its findings are those of a check of the whole.

Whole: the campaign. Apart: the file of one excursion, as somebody would who has just that one to answer for. It draws
on the file before for the promise, and does not depend on how that one keeps it. Whether a promise is kept is asked by
whoever starts from it: an excursion alone does not know that another will, and is not told so; with the next one it is.
"""

from __future__ import annotations

from itertools import chain, pairwise
from pathlib import Path

import pages
import pytest

from jackstay.diagnostics.records import Diagnostic
from jackstay.pipeline import check

SITE = """use units
use suited
location porch, bench, mast : worksite, room 2
location peg, nail : rail, within reach of bench
location hook : rail, within reach of mast
path porch to bench 10 m
path bench to mast 10 m
actor wren, teal : suited, at porch
item reel-w : reel, length 60 m, user wren, from porch to wren
item reel-t : reel, length 60 m, user teal, from porch to teal
item lamp, meter, drum : gear, on strap of porch
"""
BRING = """use suited
use site
excursion bring
  crew wren, teal
  starts as site
  task carry : required
    wren at porch
      take lamp from porch
    wren at bench
      put lamp on peg, says lamp-up
    wren at porch
    done when lamp on peg
  task more : required
    teal at porch
      take meter from porch
    teal at bench
      put meter on nail
    teal at porch
    done when meter on nail
"""
MOVE = """use suited
use site
use bring
excursion move
  crew wren, teal
  starts from promise of bring
  task on-to-the-mast : required
    wren at bench
      take lamp from peg
    wren at mast
      put lamp on hook
    wren at porch
    done when lamp on hook
  task back : required
    teal at bench
      take meter from nail
    teal at porch
      leave meter on porch
    done when meter on porch
"""
BACK = """use suited
use site
use move
excursion back
  crew wren
  starts from promise of move
  task home : required
    wren at mast
      take lamp from hook
    wren at porch
      leave lamp on porch
    done when lamp on porch
"""
WHOLE = """use bring
use move
use back
campaign depot
  excursions bring, move, back
"""
KEPT = {"site": SITE, "bring": BRING, "move": MOVE, "back": BACK, "campaign": WHOLE}


def broken(name: str, *changes: tuple[str, str]) -> dict[str, str]:
    text = KEPT[name]
    for old, new in changes:
        assert text.count(old) == 1, (name, old)
        text = text.replace(old, new)
    return {**KEPT, name: text}


EXCURSIONS = ("bring", "move", "back")
CAMPAIGNS = {
    "kept": (KEPT, set()),
    "not done": (broken("bring", ("    wren at porch\n    done", "    wren at bench\n    done")), {"bring"}),
    "promise broken": (broken("bring", ("      put meter on nail\n", "      put meter on peg\n")), {"bring"}),
    "more than is promised": (broken("move", ("take meter from nail", "take drum from nail")), {"move"}),
    "in the middle": (
        broken("move", ("    wren at porch\n    done when lamp on hook", "    done when lamp on hook")),
        {"move"},
    ),
    "in no order": (
        broken("bring", ("      put meter on nail\n", "      take lamp from peg\n      put meter on nail\n")),
        {"bring"},
    ),
    "the last": (broken("back", ("      take lamp from hook\n", "")), {"back"}),
    "two of them": (
        {
            **broken("move", ("      put lamp on hook\n", "")),
            "back": broken("back", ("lamp on porch\n    done", "meter on porch\n    done"))["back"],
        },
        {"move", "back"},
    ),
    "all of them": (
        {
            "site": SITE,
            "bring": broken("bring", ("put meter on nail", "put meter on peg"))["bring"],
            "move": broken("move", ("take meter from nail", "take drum from nail"))["move"],
            "back": broken("back", ("      take lamp from hook\n", ""))["back"],
            "campaign": WHOLE,
        },
        {"bring", "move", "back"},
    ),
}


def findings(files: dict[str, str], folder: Path, root: str) -> dict[str, list[str]]:
    """What a check of one root file finds, by the file that it is found in; letters and places, nothing left out."""
    folder.mkdir(exist_ok=True)
    for name, text in files.items():
        (folder / f"{name}.stay").write_text(text, encoding="utf-8")
    out: dict[str, list[str]] = {}
    for one in check(folder / f"{root}.stay").diagnostics:
        out.setdefault(Path(one.at.path).stem, []).append(_whole(one))
    return out


def _whole(one: Diagnostic) -> str:
    labels = [f"{Path(label.at.path).stem}:{label.at.line}:{label.text}" for label in one.labels]
    return f"{one.at.line}:{one.at.start} {one.rule}: {one.message} {one.because} {labels}"


@pytest.mark.parametrize("name", CAMPAIGNS)
def test_the_same_findings_whole_and_apart(name: str, tmp_path: Path) -> None:
    files, wrong = CAMPAIGNS[name]
    whole = findings(files, tmp_path / "whole", "campaign")
    assert set(whole) == wrong, whole
    alone = {e: findings(files, tmp_path / e, e) for e in EXCURSIONS}
    for excursion, found in alone.items():
        own = [one for one in whole.get(excursion, []) if " promise-" not in one]
        assert found.get(excursion, []) == own, f"{excursion}: {found}\n{whole}"
    for before, after in pairwise(EXCURSIONS):
        assert alone[after].get(before) == whole.get(before), f"{before}, checked with {after}: {alone[after]}\n{whole}"


def test_a_follower_does_not_depend_on_how_the_promise_is_kept(tmp_path: Path) -> None:
    """Whatever is done in `bring`, what `move` and `back` find is the same, so long as the contract is."""
    for n, change in enumerate(
        [
            ("    wren at bench\n      put lamp on peg, says lamp-up\n", "    wren at porch\n"),
            ("      put meter on nail\n", ""),
            ("    teal at porch\n    done", "    teal at mast\n    done"),
        ]
    ):
        found = findings(broken("bring", change), tmp_path / str(n), "campaign")
        assert set(found) == {"bring"}, found


@pytest.mark.parametrize("number", range(3))
def test_the_page_of_contracts(number: int, tmp_path: Path) -> None:
    """`fetch` in `plan.stay` starts from what `bring` promises: what is found in `bring` is found in its file alone."""
    page = (Path(__file__).parent / "contracts.md").read_text(encoding="utf-8")
    project = pages.projects(page)[number]
    files = {name.removesuffix(".stay"): body.decode() for name, body in project.files.items()}
    whole = findings(files, tmp_path / "whole", "plan")
    assert {mark.rule for mark in project.marks} == {one.split()[1].rstrip(":") for one in chain(*whole.values())} - {
        "moved-unsaid"
    }
    alone = findings(files, tmp_path / "alone", "bring").get("bring", [])
    assert alone == [one for one in whole.get("bring", []) if " promise-" not in one]
