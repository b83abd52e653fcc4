"""Small edits of a small plan: what is told of each, line by line, and nothing else."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from jackstay.commands.checking import checked, today
from jackstay.comparing.compare import compare
from jackstay.comparing.reading import Side
from jackstay.comparing.records import FindingAppeared, FindingGone, WaitAdded
from jackstay.comparing.sections import sections

PLAN = """\
use units
kind load is item
  has mass: kg, usually 1 kg
kind case is load
  holds any load by pocket
kind place is location
  holds any load by strap
kind shed is place
  inside
kind rigger is actor
  holds 2 load by hand
action fetch THING: load from SPOT: place or case
  by rigger
  needs THING on SPOT
  makes THING in hand of actor, then THING not on SPOT
  takes 2 min
action lay THING: load on SPOT: place or case
  by rigger
  needs THING in hand of actor
  makes THING on SPOT, then THING not in hand of actor
  takes 1 min
action walk to PLACE: place
  by rigger
  makes actor at PLACE
  serves actor at PLACE along paths
  takes 3 min
action look at THING: load
  by rigger
  takes 1 min
action wave
  by rigger
  takes 1 min
routine show THING: load by WHO: rigger
  WHO
    look at THING
    wave
routine greet WHO: rigger
  WHO
    wave, says greeted
location barn : shed
location field, hill : place
path barn to field 9 m
path field to hill 9 m
actor ida, per : rigger, at barn
item rope : load, on strap of barn
item pole : load, mass 2 kg, on strap of barn
item chest : case, on strap of field
item flag : load, on pocket of chest
excursion drill "The drill"
  crew ida as lead, per
  task haul : required
    ida
      fetch rope from barn
    ida at field
      lay rope on chest
      look at flag, says seen
      wave
  task raise : wanted
    per at field, on seen
      fetch flag from chest
    per at hill
      lay flag on hill, says raised
    done when flag on hill
  task show-off : get-ahead
    show rope by ida
  task home : required
    ida at barn, on raised
      wave
    per at barn
      wave
  left outside: rope
  left outside: flag
"""

WALK = re.compile(r"(ends at|last step|critical chain|to spare|\w+'s way home)")


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Side:
    return side_of(tmp_path_factory.mktemp("old"), PLAN)


def side_of(folder: Path, text: str) -> Side:
    (folder / "drill.stay").write_text(text, encoding="utf-8")
    return Side(checked(folder / "drill.stay", today("2027-01-01")))


def test_the_plan_is_sound(plan: Side) -> None:
    assert not [d.message for d in plan.checked.diagnostics]


def edited(*pairs: tuple[str, str]) -> str:
    text = PLAN
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new)
    return text


CASES: dict[str, tuple[list[tuple[str, str]], list[str]]] = {
    "an item renamed": ([("rope", "line")], ["~ item rope is called line now"]),
    "two items renamed": (
        [("rope", "line"), ("chest", "trunk")],
        ["~ items called otherwise: line (was rope), trunk (was chest)"],
    ),
    "two names exchanged": (
        [
            ("item rope : load, on strap", "item pole : load, on strap"),
            ("item pole : load, mass 2 kg", "item rope : load, mass 2 kg"),
        ],
        ["~ item rope, mass: 2 kg, was 1 kg", "~ item pole, mass: 1 kg, was 2 kg"],
    ),
    "an actor renamed": ([("per", "bo")], ["~ actor per is called bo now"]),
    "a kind renamed": ([("case", "bin")], ["~ kind case is called bin now"]),
    "an item replaced by another kind of thing": (
        [("item pole : load, mass 2 kg, on strap of barn", "item drum : case, on strap of hill")],
        ["- no longer there: item pole: load, strap barn", "+ new: item drum: case, strap hill"],
    ),
    "a task renamed": ([("task raise", "task hoist")], ["~ task raise is called hoist now"]),
    "a task renamed, and something else in it": (
        [("task raise", "task hoist"), ("fetch flag from chest", "fetch flag from chest [4 min]")],
        ["~ task raise is called hoist now", "~ takes 4 min, was the usual time: fetch flag from chest (hoist)"],
    ),
    "a call renamed": ([("seen", "found")], ["~ call seen is called found now"]),
    "a call that nobody makes": (
        [(", says seen", ""), (", on seen", "")],
        [
            "- no longer calls seen after look at flag (haul)",
            "- no longer waits for Ida's seen before fetch flag from chest (raise); nothing else keeps that order",
        ],
    ),
    "an excursion renamed": ([("excursion drill", "excursion parade")], ["~ excursion drill is called parade now"]),
    "a heading written twice": ([("      look at flag,", "    ida at field\n      look at flag,")], []),
    "a heading without its place": ([("    ida at field\n      lay", "    ida at field\n      lay")], []),
    "steps at another place": (
        [
            ("    per at hill\n      lay flag on hill,", "    per\n      lay flag on field,"),
            ("flag on hill", "flag on field"),
        ],
        [
            "~ task raise: done when flag on field, was flag on hill",
            "~ at field now, was hill: lay flag on field (raise)",
            "~ now lay flag on field; was lay flag on hill (raise)",
            "~ hands: flag: ... > Per > field; was ... > Per > hill",
            "~ at the end flag: field (by strap), was hill (by strap)",
        ],
    ),
    "two steps the other way round": (
        [("      look at flag, says seen\n      wave\n", "      wave\n      look at flag, says seen\n")],
        ["~ now does wave before look at flag"],
    ),
    "a task earlier": (
        [
            ("  task show-off : get-ahead\n    show rope by ida\n", ""),
            ("  task haul :", "  task show-off : get-ahead\n    show rope by ida\n  task haul :"),
        ],
        ["~ now does show rope by ida before fetch rope from barn (haul)"],
    ),
    "by somebody else": (
        [("    show rope by ida", "    show rope by per")],
        ["~ now show rope by per; was show rope by ida (show-off)"],
    ),
    "a routine has another body": (
        [("    look at THING\n    wave\n", "    look at THING\n    wave\n    wave\n")],
        ["~ routine show THING: load by WHO: rigger: now wave", "+ new: wave, at field (show-off)"],
    ),
    "how long an action takes": (
        [
            (
                "  needs THING on SPOT\n  makes THING in hand of actor, then THING not on SPOT\n  takes 2 min",
                "  needs THING on SPOT\n  makes THING in hand of actor, then THING not on SPOT\n  takes 5 min",
            )
        ],
        [
            "~ action fetch THING: load from SPOT: place or case: takes 5 min, was takes 2 min",
            "~ 2 steps of fetch THING from SPOT: 5 min each, was 2 min",
        ],
    ),
    "another rank and title": (
        [("task raise : wanted", 'task raise "Hoist" : required')],
        ["~ task raise: required, was wanted", "~ task raise: title Hoist, was Raise"],
    ),
    "a task that is no longer there": (
        [("  task show-off : get-ahead\n    show rope by ida\n", "")],
        ["- no longer there: task show-off (get-ahead, 1 step by ida)"],
    ),
    "a limit": (
        [("  task haul", "  clock from the bell, limit 1 h\n  task haul")],
        ["+ clock: from the bell, was none", "+ limit: 1 h, was none"],
    ),
    "what is left outside": (
        [("      lay rope on chest\n", ""), ("  left outside: rope\n", "")],
        [
            "- no longer states left outside: rope",
            "- no longer: lay rope on chest, at field (haul)",
            "+ now comes in with Ida: rope",
            "~ hands: rope: ... > Ida; was ... > Ida > chest",
            "~ at the end rope: Ida (by hand), was chest (by pocket)",
        ],
    ),
    "a role": (
        [("ida as lead, per", "ida, per as lead")],
        ["~ crew Ida: in the crew, was as lead", "~ crew Per: as lead, was in the crew"],
    ),
    "a value": (
        [("item pole : load, mass 2 kg", "let heavy = 3 kg\nitem pole : load, mass heavy")],
        ["~ item pole, mass: heavy (3 kg), was 2 kg", "+ new: value heavy: 3 kg"],
    ),
    "an allowance": (
        [("  task raise : wanted\n", '  task raise : wanted\n    allow left-behind because "so agreed"\n')],
        ['+ allow (raise): now allow left-behind because "so agreed"'],
    ),
    "a note": (
        [("      look at flag, says seen\n", '      note "It is red."\n      look at flag, says seen\n')],
        ['+ new note "It is red.": look at flag (haul)'],
    ),
    "the order of the crew": (
        [("crew ida as lead, per", "crew per, ida as lead")],
        ["~ crew: crew per, ida as lead, was crew ida as lead, per"],
    ),
    "while": (
        [("      look at flag, says seen\n      wave\n", "      look at flag, says seen\n      wave, while raised\n")],
        ["+ now while Per's raised: wave (haul)"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_what_is_told(name: str, plan: Side, tmp_path: Path) -> None:
    """Times, which follow, are told in the history of the demo."""
    edits, expected = CASES[name]
    new = side_of(tmp_path, edited(*edits))
    comparison = compare(plan, new)
    lines = [
        f"{line.sign} {line.text}"
        for section in sections(comparison)
        if section.title != "Findings"
        for group in section.groups
        for line in group.lines
        if not WALK.match(line.text)
    ]
    assert lines == expected
    back = compare(new, plan)
    assert Counter(map(repr, comparison.inverse().changes)) == Counter(map(repr, back.changes))


GREETS = [
    (
        "routine greet WHO: rigger\n  WHO\n    wave, says greeted\n",
        "routine greet WHO: rigger by ALSO: rigger\n  ALSO\n    wave, says waved\n"
        "  WHO, on waved\n    wave, says greeted\n",
    ),
    ("  task show-off : get-ahead\n    show rope by ida\n", "  task show-off : get-ahead\n    greet ida by per\n"),
]


def test_a_call_in_a_routine_is_made_by_whoever_says_it_there(tmp_path: Path) -> None:
    """The routine begins with Per, who waves back; it is Ida who says what is waited for now."""
    waits = ("    ida at barn, on raised", "    ida at barn, on raised, on show-off.waved")
    other = ("    per at barn\n", "    per at barn, on show-off.greeted\n")
    for folder in ("old", "new"):
        (tmp_path / folder).mkdir()
    old, new = side_of(tmp_path / "old", edited(*GREETS)), side_of(tmp_path / "new", edited(*GREETS, waits, other))
    callers = {one.call: one.caller.new for one in compare(old, new).changes if isinstance(one, WaitAdded)}
    assert callers == {"waved": "per", "greeted": "ida"}


def test_a_task_is_called_otherwise_in_its_own_excursion_alone(tmp_path: Path) -> None:
    second = (
        "\nexcursion encore\n  crew ida, per\n  starts as drill ends\n  task haul : required\n    ida\n      wave\n"
    )
    second += "  task rest : required, after haul\n    ida\n      wave\n"
    for folder in ("old", "new"):
        (tmp_path / folder).mkdir()
    old = side_of(tmp_path / "old", PLAN + second)
    new = side_of(tmp_path / "new", edited(("task haul", "task carry")) + second)
    changes = [one for one in compare(old, new).changes if not isinstance(one, (FindingAppeared, FindingGone))]
    assert [one.sort for one in changes] == ["renamed"]
