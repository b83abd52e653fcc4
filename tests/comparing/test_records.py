"""Records: each has a name, and an inverse whose inverse it is."""

from __future__ import annotations

from fractions import Fraction

import pytest

from jackstay.comparing import records
from jackstay.comparing.records import OPPOSITE, SORTS, Change, Figure, Finding, Pair, StepAt

_STEP = StepAt("drill", ("ida",), "turn key", "gate", None, ("on rung",), ("[3 min]",), "plan.stay:4")
_OTHER = StepAt("drill", ("per",), "turn key", "mast", None, (), (), "plan.stay:7")
_FIELDS: dict[str, object] = {
    "excursion": Pair("first", "first"),
    "name": Pair("ida", "eda"),
    "task": Pair("drill", "bore"),
    "step": Pair(_STEP, _OTHER),
    "actor": Pair("ida", "eda"),
    "item": Pair("key", "key"),
    "thing": Pair("key", "key"),
    "part": "",
    "what": "place",
    "call": "rung",
    "caller": Pair("per", None),
    "fallback": False,
    "how": "on",
    "ordered": True,
    "steps": (Pair(_STEP, _OTHER), Pair(_OTHER, _STEP)),
    "past": (Pair(_OTHER, _OTHER), Pair(_STEP, _OTHER)),
    "earlier": True,
    "whole": Pair(("drill",), ()),
    "through": Pair((), ("drill",)),
    "way": "out",
    "verb": "turn KEY",
    "finding": Finding("crowded", "error", "It is crowded.", "plan.stay:4"),
    "old": Figure(Fraction(60), "0:01"),
    "new": None,
}


def test_every_record_has_a_name_of_its_own() -> None:
    made = {cls for cls in vars(records).values() if isinstance(cls, type) and issubclass(cls, Change)} - {Change}
    assert made == set(SORTS)
    assert len(set(SORTS.values())) == len(SORTS)
    assert all(OPPOSITE[OPPOSITE[cls]] is cls for cls in OPPOSITE)


@pytest.mark.parametrize("cls", SORTS, ids=SORTS.values())
def test_the_inverse_of_the_inverse_is_the_record(cls: type[Change]) -> None:
    given = {field: _FIELDS[field] for field in cls.__match_args__}
    if "steps" in given and cls is records.PaceChanged:
        given["steps"] = 3
    if cls in (records.StepAdded, records.StepDropped):
        given["step"] = _STEP
    if cls is records.CallMoved:
        given["call"] = Pair("rung", "struck")
    record = cls(**given)
    assert record.inverse() != record
    assert record.inverse().inverse() == record


def test_the_inverse_of_a_reordering_says_later() -> None:
    given = {field: _FIELDS[field] for field in records.StepsReordered.__match_args__}
    turned = records.StepsReordered(**given).inverse()  # type: ignore[arg-type]
    assert isinstance(turned, records.StepsReordered)
    assert not turned.earlier and turned.steps[0] == Pair(_OTHER, _STEP) and turned.actor == Pair("eda", "ida")
