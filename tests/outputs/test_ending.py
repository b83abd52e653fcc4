"""The end of an excursion is marked where it depends on what may be dropped."""

from __future__ import annotations

from pathlib import Path

from jackstay.outputs.ending import ending
from jackstay.outputs.frame import frame_of
from jackstay.outputs.views import views_of
from jackstay.pipeline import Checked, check

SITE = """use suited
location lock : airlock, hatch open, normally open, air empty, normally empty
location porch : worksite, room 2
location peg, hook-rail : rail, within reach of porch
location valve-1 : valve, position shut, normally shut, within reach of porch
path lock to porch 3 m
actor wren : suited, at porch
item reel-w : reel, length 40 m, user wren, from porch to wren
item lamp, spare : gear, on peg
"""

FIRST = """use suited
use site
excursion first
  crew wren
  starts as site
  task lamp-over : get-ahead
    wren at porch
      take lamp from peg
      put lamp on hook-rail
  task look : get-ahead
    wren at porch
      look round porch
  task flow : wanted
    wren at porch
      open valve-1
  left outside: lamp
  left so: position of valve-1 is open
"""

SECOND = """use suited
use site
use first
excursion second
  crew wren
  starts as first ends
  task look : required
    wren at porch
      look round porch
"""


def printed(checked: Checked) -> str:
    assert checked.flow is not None
    return " ".join(ending(checked.world, views_of(checked.flow), frame_of(checked, False)).split())


def test_what_a_droppable_task_decides_is_marked_with_it(tmp_path: Path) -> None:
    for name, text in (("site", SITE), ("first", FIRST), ("second", SECOND)):
        (tmp_path / f"{name}.stay").write_text(text, encoding="utf-8")
    (tmp_path / "both.stay").write_text("use first\nuse second\ncampaign both\n  excursions first, second\n")
    checked = check(tmp_path / "both.stay")
    assert not checked.failed, [d.message for d in checked.diagnostics]
    first, second = printed(checked).split("== Excursion 2 of 2")
    for excursion, prefix, left in ((first, "", "; left there"), (second, "first.", "")):
        assert f"Hook rail (by clip), at Porch{left}; without {prefix}lamp-over: Peg (by clip), at Porch" in excursion
        assert f"position of Valve 1 is open, normally shut; without {prefix}flow: shut" in excursion
        assert "without look" not in excursion and "without first.look" not in excursion
        assert "Spare - Peg (by clip), at Porch -- Line ends" in excursion
    assert "position of Valve 1: shut -> open; without flow: shut" in first
    assert "position of Valve 1:" not in second


def test_one_droppable_task_alone_is_marked_too(tmp_path: Path) -> None:
    (tmp_path / "site.stay").write_text(SITE, encoding="utf-8")
    lines = FIRST.split("\n")
    gone = lines.index("  task look : get-ahead")
    kept = [*lines[:gone], *[line for line in lines[gone + 6 :] if "valve" not in line]]
    (tmp_path / "first.stay").write_text("\n".join(kept), encoding="utf-8")
    checked = check(tmp_path / "first.stay")
    assert not checked.diagnostics, [d.message for d in checked.diagnostics]
    assert "; without lamp-over: Peg" in printed(checked)
