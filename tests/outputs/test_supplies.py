"""What is left of supplies on the timeline and in the plan's data: the same figures, in words and exact."""

from __future__ import annotations

import json
from pathlib import Path

from jackstay.outputs.build import build
from jackstay.pipeline import check

PLAN = """
use units
effort easy 100 W
effort hard 400 W
kind shed is location
  inside
kind digger is actor
  idle effort easy
  supply air 12 l, reserve 4 l, drains effort * 0.02 l/kJ
  supply light 1 h, drains 1
  supply rope 3 m
action dig
  by digger
  takes 10 min
  effort hard
action mutter
  by digger
  takes 10 min
location home : shed
actor ada, ben : digger, at home
excursion trench
  crew ada, ben
  task trench : required
    ada
      dig
      dig
    ben
      mutter
"""


def made(folder: Path) -> dict[str, bytes]:
    (folder / "plan.stay").write_text(PLAN, encoding="utf-8")
    return build(check(folder / "plan.stay"))


def test_lines_of_the_timeline(tmp_path: Path) -> None:
    """Ada digs 9.6 l away, 8 l by 16 min 40 s. Ben mutters at the heaviest effort known and waits: 4.8 + 1.2 l."""
    text = made(tmp_path)["timeline.txt"].decode()
    told = " ".join(text.split())
    assert "Ada, air: 2.4 l of 12 l left at 0:20; down to the reserve of 4 l at 0:16." in told
    assert "Ada, light: 0.667 h of 1 h left at 0:20." in told
    assert (
        "Ben, air: 6 l of 12 l left at 0:20; the reserve of 4 l is not touched; "
        "with the heaviest effort where none is stated." in told
    )
    assert "rope" not in told


def test_data(tmp_path: Path) -> None:
    data = json.loads(made(tmp_path)["plan.json"])
    ada = data["excursions"][0]["supplies"][0]
    assert ada == {
        "actor": "ada",
        "supply": "air",
        "amount": "3/250",
        "written": "12 l",
        "reserve": "1/250",
        "from": 0,
        "until": 1200,
        "left": "3/1250",
        "below_reserve_at": 1000,
        "empty_at": None,
        "at_best": False,
        "effort_assumed": False,
        "bends": [[0, "3/250"], [600, "9/1250"]],
    }
