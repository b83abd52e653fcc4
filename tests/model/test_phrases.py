"""Headings, steps and calls: which action is meant, and where it is said that none is."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from worlds import CREW, clean, only_excursion, rules_of, world_of

from jackstay.model.records import AnyOf

YARD = (
    "use units\n"
    + CREW
    + """kind rope is item
kind drum is item
kind hoist is actor
actor crab : hoist, at gate, run by per
item line-a : rope, on gate
item reel 1 to 3 : drum, on gate
action stow ITEM: rope in/on HOLDER: location
  by    rigger
action stow ITEM: drum in/on HOLDER: location
  by    rigger
action raise ITEM: item
  by    rigger, helped by rigger
action raise ITEM: item
  by    hoist
action turn N: count times ITEM: drum
  by    rigger
action say WORDS: text
  by    rigger
action pass ITEM: item to TAKER: actor
  by    rigger, with TAKER
action test ITEM: item
  by    rigger
  may: it jams
"""
)
HEAD = "excursion one\n  crew ida, per, crab\n  task work : required\n"


def plan(*lines: str, heading: str = "ida at gate") -> str:
    return YARD + HEAD + f"    {heading}\n" + "".join(f"      {line}\n" for line in lines)


def test_overload_by_the_kind_of_a_slot(tmp_path: Path) -> None:
    entries = only_excursion(clean(tmp_path, plan("stow line-a on gate", "stow reel-1 in gate"))).entries[1:]
    kinds = [e.action.params[0].kinds[0].name for e in entries if e.action is not None]
    assert kinds == ["rope", "drum"]


@pytest.mark.parametrize(("heading", "by"), [("ida and per at gate", "rigger"), ("crab at gate", "hoist")])
def test_overload_by_the_cast(tmp_path: Path, heading: str, by: str) -> None:
    step = only_excursion(clean(tmp_path, plan("raise line-a", heading=heading))).entries[-1]
    assert step.action is not None
    assert [k.name for k in step.action.by] == [by]


def test_who_runs_a_machine_is_occupied(tmp_path: Path) -> None:
    step = only_excursion(clean(tmp_path, plan("raise line-a", heading="crab at gate"))).entries[-1]
    assert [t.name for t in step.cast] == ["crab", "per"]


def test_a_hand_over_occupies_both(tmp_path: Path) -> None:
    step = only_excursion(clean(tmp_path, plan("pass line-a to per"))).entries[-1]
    assert [t.name for t in step.cast] == ["ida", "per"]


def test_any_of_a_group(tmp_path: Path) -> None:
    step = only_excursion(clean(tmp_path, plan("stow any reel on gate"))).entries[-1]
    chosen = step.binding[2]
    assert isinstance(chosen, AnyOf)
    assert [t.name for t in chosen.members] == ["reel-1", "reel-2", "reel-3"]


def test_numbers_and_texts(tmp_path: Path) -> None:
    entries = only_excursion(clean(tmp_path, plan("turn 3 times reel-1", 'say "All clear."'))).entries[1:]
    assert [e.binding[2] for e in entries] == [Fraction(3), "All clear."]


@pytest.mark.parametrize(
    ("line", "rule", "word"),
    [
        ("stwo line-a on gate", "unknown-verb", "stwo"),
        ("warning hot drum", "unknown-verb", "warning"),
        ("stow line-a under gate", "wrong-words", "under"),
        ("stow line-a", "wrong-words", "line-a"),
        ("test line-a again", "wrong-words", "again"),
        ("stow lin-a on gate", "unknown-name", "lin-a"),
        ("stow ida on gate", "wrong-kind", "ida"),
        ("stow reel on gate", "wrong-kind", "reel"),
        ("stow any line-a on gate", "wrong-kind", "line-a"),
        ('test "line-a"', "wrong-argument", '"line-a"'),
        ("raise line-a", "wrong-cast", "raise line-a"),
        ("test line-a, after work", "bound-not-here", "after work"),
        ("test line-a, was work", "bound-not-here", "was work"),
        ("test line-a, on done-it", "unknown-mark", "done-it"),
        ("test line-a [5 to 3 min]", "bad-range", "[5 to 3 min]"),
    ],
)
def test_a_mistake_is_one_finding_at_one_word(tmp_path: Path, line: str, rule: str, word: str) -> None:
    text = plan(line)
    (problem,) = world_of(tmp_path, text)[1]
    assert problem.rule == rule
    assert text.splitlines()[problem.at.line - 1][problem.at.start : problem.at.end] == word


@pytest.mark.parametrize(
    ("answer", "known"), [("it sticks", ["it jams"]), ("outside", ["it jams"])], ids=["misspelled", "no reading"]
)
def test_outcomes(tmp_path: Path, answer: str, known: list[str]) -> None:
    (problem,) = world_of(tmp_path, plan("test line-a", f"  if {answer}: go on"))[1]
    assert problem.rule == "unknown-outcome"
    assert problem.facts["known"] == known


def test_outcomes_that_can_be(tmp_path: Path) -> None:
    text = plan("test line-a, expect 3 to 4 m", "  if it jams: go on", "  if outside: go on")
    step = only_excursion(clean(tmp_path, text)).entries[-1]
    assert [a.outcome for a in step.answers] == ["it jams", "outside"]


ROUTINE = "routine twice by WHO: rigger\n  WHO at mast\n    test line-a, says tried\n  WHO at gate, on tried\n"


def test_marks_of_a_routine_are_fresh(tmp_path: Path) -> None:
    tasks = "  task first-go : required\n    twice by ida\n  task next-go : required\n    twice by per\n"
    world = clean(tmp_path, YARD + ROUTINE + "excursion one\n  crew ida, per\n" + tasks)
    waits = [
        (e.cast[0].name, w.mark.entry.cast[0].name)
        for e in only_excursion(world).entries
        for w in e.waits
        if w.mark.entry
    ]
    assert waits == [("ida", "ida"), ("per", "per")]


def test_a_mark_of_a_routine_is_reached_through_its_task(tmp_path: Path) -> None:
    tasks = "  task first-go : required\n    twice by ida\n  task next-go : required\n    per at mast, on {}\n"
    text = YARD + ROUTINE + "excursion one\n  crew ida, per\n" + tasks
    clean(tmp_path, text.format("first-go.tried"))
    assert [rule for rule, _ in rules_of(tmp_path, text.format("tried"))] == ["unknown-mark"]


def test_two_calls_in_one_task_make_its_marks_ambiguous(tmp_path: Path) -> None:
    task = "  task go : required\n    twice by ida\n    twice by ida\n    per at mast, on go.tried\n"
    assert [r for r, _ in rules_of(tmp_path, YARD + ROUTINE + "excursion one\n  crew ida, per\n" + task)] == [
        "mark-of-two-tasks"
    ]


def test_a_plan_cannot_wait_for_what_a_fallback_says(tmp_path: Path) -> None:
    text = plan("test line-a, on safe") + "  fallback out\n    per at gate\n      test line-a, says safe\n"
    (problem,) = world_of(tmp_path, text)[1]
    assert (problem.rule, problem.facts["fallback"]) == ("unknown-mark", "Out")


def test_a_routine_with_a_mistake_tells_it_once(tmp_path: Path) -> None:
    routine = ROUTINE.replace("at mast", "at mats")
    task = "  task go : required\n    twice by ida\n    twice by per\n"
    text = YARD + routine + "excursion one\n  crew ida, per\n" + task
    assert rules_of(tmp_path, text) == [("unknown-name", text[: text.index("mats")].count("\n") + 1)]


def test_two_quantifiers(tmp_path: Path) -> None:
    rule = "rule tidy\n  never anyone of rigger on everything of rope\n"
    assert [r for r, _ in rules_of(tmp_path, YARD + rule)] == ["two-quantifiers"]


def test_an_action_declared_with_a_mistake_is_no_unknown_verb(tmp_path: Path) -> None:
    action = "action oil ITEM: roop\n  by rigger\n"
    text = YARD + action + HEAD + "    ida at gate\n      oil line-a\n"
    assert [r for r, _ in rules_of(tmp_path, text)] == ["unknown-kind"]
