"""Limits that count from a call, against every combination of durations and against the general algorithm."""

from __future__ import annotations

import itertools
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from timing.graphs import at_most, graphs

from jackstay.pipeline import check
from jackstay.timing import slow_days
from jackstay.timing.controllable import conflict_by_waits
from jackstay.timing.deadlines import Deadline
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import earliest
from jackstay.timing.slow_days import surely_kept
from jackstay.timing.uncertain import uncertain


@st.composite
def uncertain_graphs(draw: st.DrawFn) -> EventGraph:
    graph = draw(graphs(most=6, light=False))
    loose = draw(st.lists(st.integers(0, len(graph.most) - 1), max_size=4, unique=True))
    for i in loose:
        graph.most = [n + draw(st.integers(1, 6)) if j == i else n for j, n in enumerate(graph.most)]
    graph.likely = list(graph.least)
    return graph


def days(graph: EventGraph) -> list[list[int]]:
    """Every combination of shortest and longest durations: between them nothing is worse."""
    return [list(one) for one in itertools.product(*({a, b} for a, b in zip(graph.least, graph.most, strict=True)))]


@settings(max_examples=200, deadline=None)
@given(uncertain_graphs(), st.data())
def test_what_is_surely_kept_is_kept_on_every_day(graph: EventGraph, data: st.DataObject) -> None:
    steps = st.integers(0, len(graph.most) - 1)
    call, target = 2 * data.draw(steps) + 1, data.draw(st.one_of(st.none(), steps))
    one = Deadline(call, None if target is None else 2 * target + 1, data.draw(st.integers(0, 40)), None)
    if not surely_kept(graph, one):
        return
    for lengths in days(graph):
        early = earliest(graph, lengths, maxima=())
        assert early is not None
        assert one.late(graph, early) <= 0
    assert conflict_by_waits(uncertain(graph, [one])) is None


@settings(max_examples=200, deadline=None)
@given(uncertain_graphs(), st.data())
def test_with_certain_durations_control_is_consistency(graph: EventGraph, data: st.DataObject) -> None:
    graph.most = list(graph.least)
    events = st.integers(0, 2 * len(graph.before) - 1)
    for source, target, gap in data.draw(st.lists(st.tuples(events, events, st.integers(0, 12)), max_size=3)):
        if source != target:
            at_most(graph, source, target, gap)
    assume(graph.at_most and not graph.beside)
    early = earliest(graph)
    assert early is not None
    assert early.settled == (conflict_by_waits(uncertain(graph, graph.at_most)) is None)


def test_a_limit_from_a_call_with_more_uncertain_steps_than_are_decided(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The longest run (ends at 50 min) less the soonest call (5 min) is past 40 min: only the general algorithm knows
    that whoever calls can wait. Beyond its bound the answer is not "clean"."""
    plan = tmp_path / "trench.stay"
    plan.write_text(TRENCH)
    assert check(plan).diagnostics == []
    monkeypatch.setattr(slow_days, "MOST", 1)
    (found,) = check(plan).diagnostics
    assert found.rule == "not-decided" and "the limit is sure to be kept on a slow day" in found.message


TRENCH = """\
use units
kind shed is location
kind digger is actor
action dig PLACE: location
  by     digger
  needs  PLACE in reach
location home : shed
actor ada, ben : digger, at home
excursion trench
  crew ada, ben
  clock from the gate, starts on begun, limit 40 min
  task work : required
    ada at home
      dig home [10 min, 5 to 15], says begun
    ben at home
      dig home [30 min, 25 to 50]
"""
