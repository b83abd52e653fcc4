"""Calls that clear a finding about stays: what `help` proposes is applied, and nothing is left."""

from __future__ import annotations

from pathlib import Path

import pytest

from jackstay.diagnostics.edits import apply_edits
from jackstay.diagnostics.records import Diagnostic
from jackstay.flow import mending
from jackstay.flow.clocks import set_clocks
from jackstay.pipeline import check

YARD = """use units
kind place is location
  inside
  has room: count, usually 2
  admits room diver
  holds any stool by floor
kind plug is location
  inside
  has power: on or off, usually on
kind rope is item
  has length: m
  ends 2
  length length
kind stool is item
  holds 1 diver by seat
kind diver is actor
  holds any rope by hook
kind crane is actor
kind desk is actor
location pier, bay, root : place
location bay-plug : plug, within reach of bay
path pier to bay 5 m
path bay to root 5 m
actor mara, jonas : diver, at pier
actor erna : desk, at pier
actor boom : crane, at root, reaches bay, root
item step : stool, on pier
item line : rope, length 7 m, from mara to jonas
action go to PLACE: place
  by diver
  serves actor at PLACE along paths
  makes actor at PLACE
action swing to PLACE: place
  by crane
  makes actor at PLACE
action rest
  by diver
action sit on STOOL: stool
  by diver
  needs nobody on STOOL
  makes actor on STOOL
action leave STOOL: stool
  by diver
  makes actor not on STOOL
action part PLUG: plug
  by diver
  works on PLUG
  needs PLUG in reach
action switch off PLUG: plug
  by desk
  makes power of PLUG is off from afar
action switch on PLUG: plug
  by desk
  makes power of PLUG is on from afar
rule clear "Clear of a moving crane"
  never WHO: diver at PLACE: place while CRANE: crane moving at PLACE
rule dead "No hands on a live plug"
  never anyone working on PLUG: plug while power of PLUG is on

excursion outing
  crew mara, jonas, erna, boom
  task work : required
"""
NARROW = YARD.replace("location pier, bay, root : place", "location pier, root : place\nlocation bay : place, room 1")

PLANS = {
    "rule-may-break": """    mara at bay
    mara at pier
    boom
      swing to bay
""",
    "need-may-fail": """    mara
      sit on step
      leave step
    jonas
      sit on step
      leave step
""",
    "may-exceed": """    mara at bay
    mara at pier
    jonas at bay
    jonas at pier
""",
    "line-may-be-too-short": """    mara at bay
    jonas at bay
    mara at root
    jonas at root
""",
}


def found(folder: Path, text: str) -> list[Diagnostic]:
    (folder / "plan.stay").write_text(text, encoding="utf-8")
    return list(check(folder / "plan.stay").diagnostics)


def plan(rule: str) -> str:
    text = NARROW if rule == "may-exceed" else YARD
    if rule != "line-may-be-too-short":
        text = text.replace("item line : rope, length 7 m, from mara to jonas\n", "")
    return text + PLANS[rule]


@pytest.mark.parametrize("rule", ["rule-may-break", "may-exceed", "line-may-be-too-short"])
def test_the_calls_clear_it(rule: str, tmp_path: Path) -> None:
    text = plan(rule)
    (finding,) = found(tmp_path, text)
    assert finding.rule == rule
    (fix,) = finding.help
    assert fix.edits
    assert found(tmp_path, apply_edits(text, fix.edits)) == []


def test_one_call_says_who_waits_for_whom(tmp_path: Path) -> None:
    (finding,) = found(tmp_path, plan("rule-may-break"))
    assert [fix.text for fix in finding.help] == ["let Boom wait until Mara has called"]


def test_power_stays_off_until_the_hands_are_gone(tmp_path: Path) -> None:
    text = plan("rule-may-break").removesuffix(PLANS["rule-may-break"])
    text += "    erna\n      switch off bay-plug, says dead\n    mara at bay, on dead\n      part bay-plug\n"
    text += "    erna\n      switch on bay-plug\n"
    (finding,) = found(tmp_path, text)
    (fix,) = finding.help
    after = apply_edits(text, fix.edits)
    assert "part bay-plug, says part-bay-plug" in after and "switch on bay-plug, on part-bay-plug" in after
    assert found(tmp_path, after) == []


def test_none_of_several_calls_can_be_left_out(tmp_path: Path) -> None:
    text = plan("line-may-be-too-short")
    (finding,) = found(tmp_path, text)
    (fix,) = finding.help
    assert fix.text.startswith("2 calls keep it within its length")
    waits = [edit for edit in fix.edits if ", on " in edit.text]
    assert len(waits) == 2
    for edit in waits:
        fewer = apply_edits(text, [one for one in fix.edits if one is not edit])
        assert [one.rule for one in found(tmp_path, fewer)] == ["line-may-be-too-short"]


def test_where_it_would_take_too_long_none_is_proposed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mending, "_MOST_STEPS", 1)
    (finding,) = found(tmp_path, plan("line-may-be-too-short"))
    assert finding.help == ()


def test_the_order_is_as_it_was_after_trying(tmp_path: Path) -> None:
    (tmp_path / "plan.stay").write_text(plan("line-may-be-too-short"), encoding="utf-8")
    checked = check(tmp_path / "plan.stay")
    assert checked.flow is not None
    (flow,) = checked.flow.excursions
    assert [problem.facts["mend"] for problem in flow.problems if problem.facts["mend"]]
    left = [step.clock for step in flow.steps], list(flow.predecessors)
    set_clocks(flow)
    assert left == ([step.clock for step in flow.steps], flow.predecessors)


def test_need_may_fail_is_cleared_too(tmp_path: Path) -> None:
    text = plan("need-may-fail")
    findings = found(tmp_path, text)
    assert [one.rule for one in findings] == ["need-may-fail"] * 2, "each may find the other there"
    (fix,) = dict.fromkeys(fix for one in findings for fix in one.help)
    assert found(tmp_path, apply_edits(text, fix.edits)) == []


def test_what_a_dropped_task_did_is_no_part_of_how_it_came(tmp_path: Path) -> None:
    text = """use units
kind place is location
  inside
  holds any load by strap
kind load is item
kind diver is actor
  holds 2 load by hand
location pier : place
actor mara : diver, at pier
item pan : load, on hand of mara
action put ITEM: load on PLACE: place
  by diver
  needs ITEM in hand of actor
  makes ITEM on PLACE, then ITEM not in hand of actor
action take ITEM: load from PLACE: place
  by diver
  needs ITEM on PLACE
  makes ITEM in hand of actor, then ITEM not on PLACE
"""
    first = "use site\nexcursion first\n  crew mara\n  starts as site\n  task lay : get-ahead\n    mara\n"
    first += "      put pan on pier\n"
    second = "use site\nuse first\nexcursion second\n  crew mara\n  starts as first ends\n  task fetch : required\n"
    second += "    mara\n      take pan from pier\n"
    (tmp_path / "site.stay").write_text(text, encoding="utf-8")
    (tmp_path / "first.stay").write_text(first, encoding="utf-8")
    (finding,) = found(tmp_path, second)
    assert finding.rule == "leans-on-droppable"
    assert [(event.number, event.text) for event in finding.events] == [(1, "takes pan from pier")]
    assert not any(label.at.path == "first.stay" and label.at.line == 7 for label in finding.labels)
