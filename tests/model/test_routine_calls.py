"""Each call of a routine means its own arguments, though its lines are read anew from one text."""

from __future__ import annotations

from pathlib import Path

from jackstay.model.from_syntax import build_world
from jackstay.source.library import Library
from jackstay.syntax.modules import load

PLAN = """\
use units
use suited
use cabin

kind shelf is fixture
  holds any load by clip
location hub
  deck : worksite
  rail : shelf, within reach of deck
actor ana : suited, at deck
item pan, pot : gear, mass 1 kg, on rail

routine fetch X: gear, WHO: suited
  WHO at deck
    take X from rail

excursion e
  crew ana
  task t : required
    fetch pan, ana
    fetch pot, ana
"""


def test_two_calls_by_one_actor(tmp_path: Path) -> None:
    (tmp_path / "plan.stay").write_text(PLAN, encoding="utf-8")
    world, problems = build_world(load(Library(tmp_path), "plan").modules)  # type: ignore[arg-type]
    assert not problems
    steps = [entry for entry in world.excursions[0].entries if entry.action is not None]
    assert [entry.text for entry in steps] == ["take pan from rail", "take pot from rail"]
    assert [getattr(entry.binding[2], "name", None) for entry in steps] == ["pan", "pot"]
