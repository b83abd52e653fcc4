"""When what was kept no longer stands: what no small campaign's findings show by themselves."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from incremental.campaigns import CAMPAIGNS
from incremental.comparing import TODAY, as_bytes, write

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.flow.state import State
from jackstay.flow.without import Campaign
from jackstay.keeping.flights import KeptClockwork, alike
from jackstay.keeping.session import Session
from jackstay.model.choreography import ExcursionBuilder
from jackstay.model.records import Excursion, Rule, World
from jackstay.pipeline import check
from jackstay.source.spans import NOWHERE
from jackstay.timing.judging import Clockwork


def test_footprints_of_dropped_tasks_go_by_the_flights(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`polish` is of part2, which starts where part1 ends."""
    looked: list[str] = []
    closed = Campaign.closed

    def looks(self: Any, gone: Any, of: Any) -> Any:
        looked.extend(sorted(task.name for task in gone))
        return closed(self, gone, of)

    monkeypatch.setattr(Campaign, "closed", looks)
    root, files = CAMPAIGNS["one-file"]()
    session = Session(tmp_path / root)
    text = files[root].replace(", only if part1.more is done", "")  # what a guard speaks of is always flown

    def after(before: str, new: str) -> list[str]:
        nonlocal text
        assert text.count(before) == 1
        text = text.replace(before, new)
        write(tmp_path, {root: text})
        looked.clear()
        told = as_bytes(session.check(TODAY))
        found = list(dict.fromkeys(looked))
        assert told == as_bytes(check(tmp_path / root, TODAY))
        return found

    assert after("campaign ", "campaign ") == ["more", "polish"]
    assert after("campaign ", "# nothing\n\ncampaign ") == []
    assert after("put lamp on deck-rail [2 min]", "put lamp on deck-rail [3 min]") == ["more"]
    # the same place, and another order of what hangs there
    again = "says seen\n      take horn from deck-rail [1 min]\n      put horn on deck-rail [1 min]\n"
    assert after("says seen\n", again) == ["more", "polish"]
    assert not session.check(TODAY).diagnostics


def test_what_is_told_of_fallbacks_goes_by_what_is_told_already(monkeypatch: pytest.MonkeyPatch) -> None:
    judged: list[ExcursionFlow] = []

    def judges(self: Any, world: Any, flow: Flow, one: ExcursionFlow, found: Any) -> None:
        judged.append(one)
        one.problems.append(Problem("fallback-runs-short", NOWHERE, {}))

    monkeypatch.setattr(Clockwork, "judge_fallbacks", judges)
    world = World("plan", "Plan", NOWHERE)
    first, second = (ExcursionFlow(Excursion(name, name, NOWHERE, "plan"), {}) for name in ("first", "second"))
    second.excursion.previous = first.excursion
    times: Any = (object(), object())
    clockwork = KeptClockwork()

    def check_again(flows: list[ExcursionFlow], own: list[Problem], others: list[Problem]) -> int:
        """How often it was judged; what is told is there either way."""
        second.problems[:] = own
        judged.clear()
        clockwork.judge_fallbacks(world, Flow(world, flows, others), second, times)
        clockwork.turn()
        assert [one.rule for one in second.problems] == [*(one.rule for one in own), "fallback-runs-short"]
        return len(judged)

    problem, other = Problem("past-limit", NOWHERE, {}), Problem("past-limit", NOWHERE, {})
    assert check_again([first, second], [], []) == 1
    assert check_again([first, second], [], []) == 0
    assert check_again([first, second], [problem], []) == 1
    assert check_again([first, second], [problem], []) == 0
    assert check_again([first, second], [other], []) == 1
    assert check_again([first, second], [other], [problem]) == 1
    assert check_again([first, second], [other], [problem]) == 0
    anew = ExcursionFlow(first.excursion, {})
    assert check_again([anew, second], [other], [problem]) == 0  # no rule of the clock looks back
    world.rules.append(Rule("r", "R", True, (), (), (), NOWHERE, again=object()))  # type: ignore[arg-type]
    assert check_again([anew, second], [other], [problem]) == 1
    assert check_again([anew, second], [other], [problem]) == 0
    assert check_again([first, second], [other], [problem]) == 1


def test_states_are_alike_to_the_last() -> None:
    def state() -> State:
        made = State(2)
        made.values = [1, "on"]
        made.aboard = {3: {"a": None, "b": None}, 4: {}}  # type: ignore[dict-item]
        made.ends_on = {5: {"c": None}}  # type: ignore[dict-item]
        return made

    assert alike(state(), state())
    for change in (
        lambda made: made.values.__setitem__(1, "off"),
        lambda made: made.aboard.__setitem__(3, {"b": None, "a": None}),
        lambda made: made.aboard.pop(4),
        lambda made: made.ends_on.clear(),
        lambda made: made.doubtful.add(1),
        lambda made: made.over.add((1, 2)),
    ):
        other = state()
        change(other)
        assert not alike(state(), other)


def test_a_kept_excursion_still_calls_its_routines(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else they would be read once more by themselves, as those that nobody calls."""
    alone: list[str] = []
    monkeypatch.setattr(ExcursionBuilder, "rehearse", lambda self, scratch, routine: alone.append(routine.text))
    root, files = CAMPAIGNS["clocked"]()
    session = Session(tmp_path / root)
    for text in (
        files[root],
        files[root].replace("put lamp on deck-rail, says", "put lamp on deck-rail [2 min], says"),
    ):
        write(tmp_path, {root: text})
        alone.clear()
        session.check(TODAY)
        assert [routine.split()[0] for routine in alone] == ["bring"]
