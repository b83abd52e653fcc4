"""What is not looked into for its size is said not to be decided."""

from __future__ import annotations

import pytest
from oracles.brute import Hold, Plan, Step, Thing
from oracles.generate_loads import ACTIONS
from oracles.judging import problems_of, world_of
from oracles.vocabulary import OWN_KINDS
from oracles.writing import text_of

from jackstay.flow import choices, counts, lengths

VERBS = {a.words[0]: a for a in ACTIONS}
PROPS = {"mass": 2, "hands": 1, "bolts": 0}
CREW = ("ana", "ben", "cyd")


def load(name: str, manner: str, holder: str) -> Thing:
    return Thing(name, "load", dict(PROPS), held=((manner, holder),))


def packing() -> Plan:
    """Each of the crew puts something into the box and takes something else out; it bears one thing more."""
    chest = OWN_KINDS["chest"]._replace(carries=8, holds=(Hold("pocket", None, "load"),))
    things = [Thing("deck", "site", {"room": 3}), *(Thing(who, "crew", {"mass": 0}, place="deck") for who in CREW)]
    things.append(Thing("box", "chest", {**PROPS, "lid": "open"}, held=(("strap", "deck"),)))
    steps = []
    for i, who in enumerate(CREW):
        things += [load(f"cup{i}", "hand", who), load(f"pan{i}", "pocket", "box")]
        steps.append(Step(VERBS["put"], who, None, {"ITEM": f"cup{i}", "HOLDER": "box"}))
        steps.append(Step(VERBS["take"], who, None, {"ITEM": f"pan{i}", "HOLDER": "box"}))
    return Plan({**OWN_KINDS, "chest": chest}, {t.name: t for t in things}, [], [], steps)


def changing_places() -> Plan:
    """One goes and two come, where there is room for two."""
    things = [Thing("deck", "site", {"room": 2}), Thing("quay", "site", {"room": 3})]
    things += [Thing(who, "crew", {"mass": 0}, place="deck" if who == "ana" else "quay") for who in CREW]
    steps = [Step(VERBS["go"], who, None, {"PLACE": "quay" if who == "ana" else "deck"}) for who in CREW]
    return Plan(OWN_KINDS, {t.name: t for t in things}, [("deck", "quay", 3)], [], steps)


@pytest.mark.parametrize("plan", [packing(), changing_places()], ids=["a sum", "room"])
def test_more_stays_than_are_compared(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_of(text_of(plan))
    assert [p.rule for p in problems_of(world)] == ["may-exceed"]
    monkeypatch.setattr(counts, "_MOST", 2)
    (told,) = problems_of(world)
    assert told.rule == "not-decided"
    assert "stays would have to be compared; up to 2 are" in told.facts["reason"]


def roped() -> Plan:
    """Two go two places on, with a line between them that reaches one."""
    things = [Thing(place, "site", {"room": 2}) for place in ("deck", "quay", "roof")]
    things += [Thing(who, "crew", {"mass": 0}, place="deck") for who in CREW[:2]]
    things.append(Thing("rope", "cord", {**PROPS, "length": 5}, ends=CREW[:2]))
    steps = [Step(VERBS["go"], who, None, {"PLACE": place}) for place in ("quay", "roof") for who in CREW[:2]]
    return Plan(OWN_KINDS, {t.name: t for t in things}, [("deck", "quay", 3), ("quay", "roof", 3)], [], steps)


def test_more_ways_to_hang_than_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    world = world_of(text_of(roped()))
    assert [p.rule for p in problems_of(world)] == ["line-may-be-too-short"]
    monkeypatch.setattr(lengths, "_MOST", 4)
    monkeypatch.setattr(lengths, "_MOST_EACH", 0)
    (told,) = problems_of(world)
    assert (told.rule, told.facts["what"]) == ("not-decided", "line")
    assert "too many ways" in told.facts["reason"]


def test_more_choices_than_are_tried(monkeypatch: pytest.MonkeyPatch) -> None:
    things = [Thing("deck", "site", {"room": 3}), Thing("ana", "crew", {"mass": 0}, place="deck")]
    things += [load(f"mug-{i}", "strap", "deck") for i in (1, 2, 3)]
    steps = [Step(VERBS["take"], "ana", None, {"ITEM": "any mug", "HOLDER": "deck"}) for _ in range(2)]
    plan = Plan(OWN_KINDS, {t.name: t for t in things}, [], [], steps, groups={"mug": ("mug-1", "mug-2", "mug-3")})
    world = world_of(text_of(plan))
    assert problems_of(world) == []
    monkeypatch.setattr(choices, "_MOST", 1)
    told = [p for p in problems_of(world) if p.rule == "not-decided"]
    assert [(p.facts["what"], p.facts["against"]) for p in told] == [("any", None)]
