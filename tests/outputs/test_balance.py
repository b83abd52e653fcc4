"""What a timeline says of waits, the clock, the light and the critical chain, checked against the times themselves."""

from __future__ import annotations

import re

import pytest

from jackstay.outputs.frame import frame_of
from jackstay.outputs.timeline import timeline as page_of
from jackstay.outputs.views import views_of
from jackstay.pipeline import check

PLAN = """
use units
kind keeper is actor
kind hut is location
  inside
kind post is location
action walk to PLACE: location
  by     keeper
  serves actor at PLACE along paths
  makes  actor at PLACE
  takes  5 min
action paint POST: post
  by     keeper
  needs  POST in reach
  takes  20 min
location home : hut
location gate : post
path home to gate 60 m
actor ada, ben : keeper, at home
excursion round
  crew ada, ben
  clock from the lamp, starts on painted, limit 1 h, reserve 10 min
  light dark 30 min of every 60 min, first at 20 min
  task work : required
    ada at gate
      paint gate, says painted
    ada at home
    ben at gate, on painted
      paint gate, in daylight
    ben at home
"""


@pytest.fixture(scope="module")
def timeline(tmp_path_factory: pytest.TempPathFactory) -> str:
    plan = tmp_path_factory.mktemp("balance") / "plan.stay"
    plan.write_text(PLAN, encoding="utf-8")
    checked = check(plan)
    assert checked.flow is not None and not checked.diagnostics, checked.diagnostics
    return re.sub(r"\s+", " ", page_of(views_of(checked.flow), frame_of(checked, False)))


def test_who_waits_how_long_and_who_ends_later(timeline: str) -> None:
    # Ben waits 25 min for Ada, walks, and waits from 0:30 for the light at 0:50
    assert "Balance: Ada never idles and ends at 0:30; Ben idles 45 min and ends 45 min later." in timeline
    assert 'wait for Ada: "painted" (25 min from 0:00)' in timeline
    assert "wait 20 min from 0:30 for the light" in timeline


def test_the_clock_against_its_limit(timeline: str) -> None:
    assert 'The clock starts with Ada\'s call "painted" at 0:25 and stops with the last step at 1:15.' in timeline
    assert "At the end the clock shows 0:50. The reserve is touched at 1:15 (0 min to spare)" in timeline
    assert "the limit is over at 1:25." in timeline


def test_the_light_between_the_rows(timeline: str) -> None:
    assert "Dark from 0:20 to 0:50." in timeline
    ben = timeline[timeline.index("-- Ben --") :]
    assert ben.index("0:20 -- dark until 0:50 --") < ben.index("0:50 -- light until 1:20 --") < ben.index("paint gate")


def test_the_critical_chain_begins_at_the_light(timeline: str) -> None:
    chain = timeline[timeline.index("-- the critical chain: 25 min") :]
    assert re.search(r"0:50 20 min Ben: paint gate .* 1:10 5 min > Ben: walk to home", chain)
    assert "Ada" not in chain[: chain.index("====")]


def test_how_late_a_step_may_start(timeline: str) -> None:
    ada = timeline[timeline.index("-- Ada --") : timeline.index("-- Ben --")]
    assert re.search(r"0:00 0:20 5 min > walk to gate", ada)  # Ben may be at the gate as late as 0:50
    assert re.search(r"0:25 1:10 5 min > walk to home", ada)
