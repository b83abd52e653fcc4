"""The examples say what their pages say of them."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from jackstay.diagnostics.records import Severity
from jackstay.model.records import Action, Thing
from jackstay.pipeline import Checked, check

ROOT = Path(__file__).parents[2]
MISTAKES = ROOT / "examples" / "mistakes"
DEMO = ROOT / "examples" / "tarn-depot"
ROWS = re.findall(
    r"^\| `([a-z-]+)` \| .* \| `([a-z-]+)`(?: \(`([a-z-]+)`\))? \|$", (MISTAKES / "README.md").read_text("utf-8"), re.M
)


@cache
def demo() -> Checked:
    return check(DEMO / "campaign.stay")


@pytest.mark.parametrize(("plan", "rule", "detail"), ROWS, ids=[row[0] for row in ROWS])
def test_each_mistake_gets_its_one_finding(plan: str, rule: str, detail: str) -> None:
    checked = check(MISTAKES / f"{plan}.stay")
    found = [d for d in checked.diagnostics if d.severity in (Severity.ERROR, Severity.WARNING)]
    assert [d.rule for d in found] == [rule]
    if detail:  # which rule of the vocabulary is broken: its declaration is one of the labels
        named = {r.decl for r in checked.world.rules if r.name == detail}
        assert named & {label.at for label in found[0].labels}


def test_every_wrong_plan_is_in_the_table() -> None:
    plans = {place.stem for place in MISTAKES.glob("*.stay")} - {"yard"}
    assert plans == {row[0] for row in ROWS}
    assert len(ROWS) >= 15


def test_the_demo_has_no_finding() -> None:
    assert [d for d in demo().diagnostics if d.severity is not Severity.UNDECIDED] == []


def test_the_demo_is_three_excursions_of_at_least_200_printed_steps() -> None:
    flow = demo().flow
    assert flow is not None
    assert [e.excursion.name for e in flow.excursions] == ["first", "second", "third"]
    assert sum(1 for e in flow.excursions for s in e.steps if s.action is not None) >= 200


def test_the_demo_uses_every_action_of_the_vocabulary() -> None:
    flow = demo().flow
    assert flow is not None
    used: set[Action] = {s.action for e in flow.excursions for s in e.steps if s.action is not None}
    for excursion in flow.excursions:
        used |= {e.action for f in excursion.excursion.fallbacks for e in f.body.entries if e.action is not None}
    assert sorted(a.text for a in demo().world.actions if a not in used) == []


def test_the_demo_has_what_its_page_says() -> None:
    world = demo().world
    tasks = [t for e in world.excursions for t in e.tasks]
    assert {t.rank for t in tasks} == {"required", "wanted", "get-ahead"}
    assert sum(len(e.fallbacks) for e in world.excursions) >= 2
    entries = [e for x in world.excursions for e in x.entries]
    assert any(e.expect is not None and any(a.fallback is not None for a in e.answers) for e in entries)
    flow = demo().flow
    assert flow is not None
    riders = [s for x in flow.excursions for s in x.steps if s.inserted and s.route and isinstance(s.binding[1], Thing)]
    assert riders, "nobody rides the arm"
    outs = {left.thing: i for i, e in enumerate(world.excursions) for left in e.left_outside if left.until is not None}
    assert any(i == 0 and world.excursions[0].left_outside for i in outs.values())


def test_a_rule_keeps_crew_clear_of_the_moving_arm() -> None:
    assert "keep-out" in {rule.name for rule in demo().world.rules}
