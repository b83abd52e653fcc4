"""The words of the rules about time, where a page's marks do not reach: the events of a chain."""

from __future__ import annotations

import datetime
from pathlib import Path

from jackstay.diagnostics.records import Diagnostic
from jackstay.pipeline import check

WORDS = """\
use units
kind keeper is actor
kind hut is location
  inside
kind post is location
action walk to PLACE: location
  by     keeper
  serves actor at PLACE along paths
  makes  actor at PLACE
  takes  3 min
action paint POST: post
  by     keeper
  needs  POST in reach
  takes  20 min
action brew
  by     keeper
  takes  5 min
location home : hut
location gate : post
path home to gate 60 m
actor ada, ben, cleo, dan : keeper, at home
"""


def found(folder: Path, rule: str, plan: str) -> Diagnostic:
    (folder / "plan.stay").write_text(WORDS + plan)
    checked = check(folder / "plan.stay", datetime.date(2026, 1, 1))
    (one,) = [finding for finding in checked.diagnostics if finding.rule == rule]
    return one


def leaves(finding: Diagnostic) -> list[tuple[str, str, str]]:
    return [(event.actor, event.text, event.leaves) for event in finding.events]


def test_what_lies_between_counts_from_the_call(tmp_path: Path) -> None:
    """The schedule that is given up on has clock times of its own, which mean nothing."""
    plan = """\
excursion round
  crew ada
  task work : required
    ada at gate
      brew, not before 40 min, says brewed
      paint gate
      brew, within 9 min of brewed
    ada at home
"""
    assert leaves(found(tmp_path, "not-within", plan)) == [
        ("Ada", "paints gate: 20 min", "20 min so far"),
        ("Ada", "brews: 5 min", "25 min so far"),
    ]


def test_a_wait_for_the_dark_is_called_so(tmp_path: Path) -> None:
    plan = """\
excursion round
  crew ada, ben
  light dark 30 min of every 2 h, first at 60 min
  finish together within 10 min
  task work : required
    ada at gate
      paint gate, in dark
    ada at home
    ben at gate
    ben at home
"""
    finding = found(tmp_path, "ends-apart", plan)
    assert leaves(finding)[0] == ("Ada", "waits 57 min for the dark", "until 1:00")


def test_who_is_named_in_a_run_of_many(tmp_path: Path) -> None:
    """Up to three by name; the others of the crew may have no part in it, so they are counted, not called all."""
    names = ["ada", "ben", "cleo", "dan"] * 8
    lines = [f"    {name}{f', on m{i - 1}' if i else ''}\n      brew, says m{i}" for i, name in enumerate(names)]
    plan = """\
excursion round
  crew ada, ben, cleo, dan
  clock from the bell, limit 5 min
  task one : required
"""
    chain = leaves(found(tmp_path, "past-limit", plan + "\n".join(lines) + "\n"))
    assert chain == [("Ada and 3 more", "4 steps of one: 20 min", told(20 * n)) for n in range(1, 9)]


def told(minutes: int) -> str:
    return f"{minutes // 60}:{minutes % 60:02d}"


def test_a_heading_with_a_time_and_nothing_to_do(tmp_path: Path) -> None:
    plan = """\
excursion round
  crew ada
  clock from the bell, limit 5 min
  task one : required
    ada [30 min]
"""
    assert leaves(found(tmp_path, "past-limit", plan)) == [("Ada", "stays: 30 min", "0:30")]
