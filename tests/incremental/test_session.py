"""One session over many edits says what cold checks say; `run.py` takes as many edits as you like."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from incremental.campaigns import CAMPAIGNS
from incremental.comparing import TODAY, as_bytes, differences, write
from incremental.edits import history

import jackstay.flow.analyse as analysis
import jackstay.timing.judging as judging
from jackstay.keeping.session import Session
from jackstay.pipeline import check
from jackstay.source.files import source_from_text


@pytest.mark.parametrize(("campaign", "seed"), [("one-file", 11), ("clocked", 12), ("several-files", 13), ("demo", 14)])
def test_random_edits(tmp_path: Path, campaign: str, seed: int) -> None:
    assert list(differences(tmp_path, campaign, seed, 10 if campaign == "demo" else 25)) == []


def test_the_edits_are_of_all_sorts(tmp_path: Path) -> None:
    """Many of the states that are compared are followed to the end, and many of these have findings."""
    root, files = CAMPAIGNS["one-file"]()
    states = history(files, random.Random(12), 60)
    assert all(a != b for a, b in pairwise(states))
    found = []
    for state in states:
        write(tmp_path, state)
        found.append(check(tmp_path / root, TODAY))
    followed = [one for one in found if one.flow is not None]
    assert 20 < len(followed) < 58
    assert sum(bool(one.diagnostics) for one in followed) > 10
    assert len({finding.rule for one in found for finding in one.diagnostics}) > 8


# --- what is kept ----------------------------------------------------------------------------------------------------


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is really done: names of excursions flown (with those dropped) and timed."""
    done: list[str] = []
    fly, timed = analysis.fly, judging._check

    def flies(world: Any, excursion: Any, start: Any, distances: Any, dropped: Any, kind: Any) -> Any:
        done.append(" without ".join([f"fly {excursion.name}", *sorted(task.name for task in dropped)]))
        return fly(world, excursion, start, distances, dropped, kind)

    def times(world: Any, one: Any) -> Any:
        done.append(f"time {one.excursion.name}")
        return timed(world, one)

    monkeypatch.setattr(analysis, "fly", flies)
    monkeypatch.setattr(judging, "_check", times)
    return done


Edit = Callable[[str, str], list[str]]


@pytest.fixture(params=["one-file", "several-files"])
def edit(request: pytest.FixtureRequest, tmp_path: Path, work: list[str]) -> Iterator[Edit]:
    """Replaces a text in whichever file has it, checks again, and gives what was really done. Each time the findings
    are those of a cold check."""
    root, files = CAMPAIGNS[request.param]()
    write(tmp_path, files)
    session = Session(tmp_path / root)
    assert not session.check(TODAY).diagnostics

    def replace(before: str, after: str) -> list[str]:
        (name,) = (name for name, text in files.items() if before in text)
        assert files[name].count(before) == 1
        files[name] = files[name].replace(before, after)
        write(tmp_path, files)
        work.clear()
        found = session.check(TODAY)
        done = list(work)
        assert as_bytes(found) == as_bytes(check(tmp_path / root, TODAY))
        return done

    yield replace


def test_only_what_an_edit_touches_is_done_again(edit: Edit) -> None:
    done = edit("take drum from deck-rail [3 min]", "take drum from deck-rail [4 min]")
    assert done == ["fly part2", "time part2"]


def test_lines_above_move_nothing(edit: Edit) -> None:
    assert edit("campaign ", "# one\n\n# two\n\ncampaign ") == []


def test_another_end_is_another_start(edit: Edit) -> None:
    """What begins where the edited one ends is flown again, as far as the difference goes."""
    every = {"fly part1", "fly part2", "fly part3", "fly part4"}
    assert every <= set(edit("put lamp on deck-rail [2 min]", "put lamp on mast-rail [2 min]"))
    assert every <= set(edit("put lamp on mast-rail [2 min]", "put lamp on deck-rail [2 min]"))
    assert not {"fly part1", "fly part2"} & set(edit("put drum on deck-rail [2 min]", "put drum on mast-rail [2 min]"))


def test_a_broken_line_costs_its_own_excursion_alone(edit: Edit) -> None:
    assert edit("take drum from deck-rail [3 min]", "take drum frm deck-rail [3 min]") == []  # nothing is followed
    done = edit("take drum frm deck-rail [3 min]", "take drum from deck-rail [3 min]")
    assert {one.split()[1] for one in done} == {"part2"}


def test_a_guard_that_names_another_excursion_s_task(edit: Edit) -> None:
    """The guard stays as it is; what it names goes away, and comes back."""
    assert edit("task more : get-ahead, after look", "task extra : get-ahead, after look") == []
    assert "fly part4" in edit("task extra : get-ahead, after look", "task more : get-ahead, after look")
    done = edit("task more : get-ahead, after look", "task more : wanted, after look")
    assert "fly part1" in done and "fly part4" not in done


def test_what_is_declared_costs_all(edit: Edit) -> None:
    done = edit("path deck to mast 8 m", "path deck to mast 9 m")
    assert {"fly part1", "fly part2", "fly part3", "fly part4"} <= set(done)


def test_an_interrupted_check_is_not_trusted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    root, files = CAMPAIGNS["several-files"]()
    write(tmp_path, files)
    session = Session(tmp_path / root)
    session.check(TODAY)
    files["part3.stay"] = files["part3.stay"].replace("put drum on deck-rail", "put drum on mast-rail")
    write(tmp_path, files)
    timed = judging._check

    def interrupt(world: Any, one: Any) -> Any:
        raise KeyboardInterrupt

    monkeypatch.setattr(judging, "_check", interrupt)
    with pytest.raises(KeyboardInterrupt):
        session.check(TODAY)
    monkeypatch.setattr(judging, "_check", timed)
    assert as_bytes(session.check(TODAY)) == as_bytes(check(tmp_path / root, TODAY))


def _all_alike(folder: Path, root: str, states: list[dict[str, str]]) -> list[bytes]:
    """What one session says of states that follow one another, each as a cold check says it."""
    session, told = Session(folder / root), []
    for state in states:
        write(folder, state)
        told.append(as_bytes(session.check(TODAY)))
        assert told[-1] == as_bytes(check(folder / root, TODAY))
    return told


def test_what_two_excursions_have_in_common_is_told_once_by_either(tmp_path: Path) -> None:
    """A mistake in a routine is told at the first excursion that calls it, or by itself: also when that changes."""
    root, files = CAMPAIGNS["clocked"]()
    text = files[root].replace(
        "  task more : wanted", "  task also : required\n    idle-round teal\n  task more : wanted"
    )
    broken = text.replace("inspect deck-rail [4 min]\n\ncampaign", "inspect dek-rail [4 min]\n\ncampaign")
    assert broken != text
    first_silent = broken.replace("    idle-round wren\n", "")
    both_silent = first_silent.replace("    idle-round teal\n", "    teal at lobby\n")
    states = [text, broken, first_silent, both_silent, first_silent, broken, text, first_silent]
    told = _all_alike(tmp_path, root, [{root: one} for one in states])
    assert b"dek-rail" in told[2] and b"dek-rail" in told[3]


def test_a_name_that_two_excursions_do_not_know(tmp_path: Path) -> None:
    """It is told once, with all its places."""
    root, files = CAMPAIGNS["one-file"]()
    text = files[root]
    both = text.replace("take drum from deck-rail", "take dram from deck-rail").replace(
        "take drum from mast", "take dram from mast"
    )
    one = text.replace("take drum from mast", "take dram from mast")
    told = _all_alike(tmp_path, root, [{root: state} for state in (text, both, one, both, text, one, text)])
    assert told[1] != told[2] and b"dram" in told[1] and b"dram" in told[2] and b"dram" not in told[0]


def test_an_excursion_does_not_know_those_that_are_read_after_it(tmp_path: Path) -> None:
    """Also where these are known from before."""
    root, files = CAMPAIGNS["one-file"]()
    text = files[root]
    states = [text]
    for name in ("part2.polish", "part2.polsh", "part4.again", "part1.look"):
        states += [text.replace("task more : get-ahead", f"task more : get-ahead, only if {name} is done"), text]
    told = _all_alike(tmp_path, root, [{root: state} for state in states])
    assert b"unknown-name" in told[1] and b"unknown-name" in told[5]


def test_with_mistakes_in_what_is_declared(tmp_path: Path) -> None:
    root, files = CAMPAIGNS["one-file"]()
    text = files[root].replace("on mast-rail\n\n", "on mast-rial\n\n", 1)
    assert text != files[root]
    states = [
        text,
        text.replace("take drum from deck-rail [3 min]", "take drum from deck-rail [4 min]"),
        text.replace("take drum from deck-rail", "take drum from mast-rial"),
        text.replace("inspect mast-rail", "inspect mast-rial"),
        text,
        files[root],
    ]
    _all_alike(tmp_path, root, [{root: state} for state in states])


def test_what_an_editor_has_open_counts(tmp_path: Path) -> None:
    root, files = CAMPAIGNS["several-files"]()
    write(tmp_path, files)
    session = Session(tmp_path / root)
    clean = as_bytes(session.check(TODAY))
    changed = files["part3.stay"].replace("put drum on deck-rail", "put dram on deck-rail")
    session.overlay["part3.stay"] = source_from_text("part3.stay", changed)
    told = as_bytes(session.check(TODAY))
    del session.overlay["part3.stay"]
    assert as_bytes(session.check(TODAY)) == clean
    (tmp_path / "part3.stay").write_text(changed, encoding="utf-8")
    assert told == as_bytes(check(tmp_path / root, TODAY)) != clean


def test_two_sessions_know_nothing_of_one_another(tmp_path: Path) -> None:
    sessions = []
    for number, (root, files) in enumerate(make() for make in CAMPAIGNS.values()):
        folder = tmp_path / str(number)
        folder.mkdir()
        write(folder, files)
        sessions.append(Session(folder / root))
    for session in [*sessions, *sessions[::-1]]:
        assert as_bytes(session.check(TODAY)) == as_bytes(check(session.path, TODAY))
