"""Small plans about lines: two or three who move with a line between them, or with what a line is tied to.

Nearly all of them hold when the steps are done one after the other, and stretch the line in some other order.
"""

from __future__ import annotations

import random
from dataclasses import replace

from oracles.brute import Action, Hold, Lit, Plan, Rule, Step, World
from oracles.generate import PLACES, Maker
from oracles.timings import Timings, TooMany
from oracles.vocabulary import OWN_ACTIONS, OWN_KINDS, near

_CORD, _PLACE = ("CORD", ("cord",)), ("PLACE", ("site",))

MORE_ACTIONS = (
    Action(("lead", "on", _CORD), "crew", (Lit("from", "CORD", "here"),), (Lit("from", "CORD", "actor"),)),
    Action(
        ("bind", _CORD, "to", ("END", ("perch", "site"))),
        "crew",
        (near("CORD"), near("END")),
        (Lit("to", "CORD", "END"),),
    ),
    Action(
        ("slip", _CORD, "and", "go", "to", _PLACE),
        "crew",
        (Lit("to", "CORD", "actor"),),
        (Lit("to", "CORD", "here"), Lit("at", "actor", "PLACE")),
    ),
)
ACTIONS = (*OWN_ACTIONS, *MORE_ACTIONS)

THEMES: dict[str, frozenset[str]] = {
    "roped": frozenset({"tie", "untie", "lead", "slip", "anchor", "hold", "drop"}),
    "ridden": frozenset({"bind", "tie", "untie", "fly", "mount", "leave", "squeeze", "hold", "drop"}),
    "handed": frozenset({"hold", "drop", "hand", "take", "put", "anchor", "tie"}),
}


def lines_plan(rng: random.Random) -> Plan:
    return LinesMaker(rng).plan()


class LinesMaker(Maker):
    """As little else as there can be."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__(rng)
        self.vocabulary = ACTIONS
        self.themes = {
            name: frozenset({*verbs, "go"} | ({"fly"} if name == "ridden" else set())) for name, verbs in THEMES.items()
        }

    def _try(self) -> Plan:
        self.kinds = dict(OWN_KINDS)
        for name in ("perch", "site"):
            kind = self.kinds[name]
            self.kinds[name] = kind._replace(holds=(*kind.holds, Hold("eye", None, "cord")))
        return super()._try()

    def _places(self) -> list[tuple[str, str, int]]:
        rng = self.rng
        count = rng.choice((2, 3, 3))
        for place in PLACES[:count]:
            self._add(place, "site", props={"room": 4})
        if self.chance(0.3):
            self._add("peg", "hook", near=tuple(rng.sample(PLACES[:count], rng.choice((1, 2)))))
        return [(PLACES[i], PLACES[i + 1], rng.choice((3, 5))) for i in range(count - 1)]

    def _actors(self) -> None:
        rng = self.rng
        places = [p for p in PLACES if p in self.things]
        for name in ("ana", "ben", "cyd")[: rng.choice((2, 2, 3))]:
            self._add(name, "crew", place=rng.choice(places))
        self.crane = self.theme == "ridden" or self.chance(0.1)
        if self.crane:
            self._add("boom", "crane", place=rng.choice(places), reaches=tuple(places))

    def _items(self) -> None:
        rng = self.rng
        crew = [n for n in ("ana", "ben", "cyd") if n in self.things]
        places = [p for p in PLACES if p in self.things]
        if self.crane:
            self._add("seat", "perch", props={"mass": 1, "hands": 1, "bolts": 0}, held=(("plate", "boom"),))
            if self.chance(0.6):
                self.things["ben"].place = "seat"
        self._one("cup", "load", {"mass": 1, "hands": 1, "bolts": 0})
        for name in ("rope", "cable")[: rng.choice((1, 1, 1, 2))]:
            points = [*crew, *crew, *places, *(["seat"] if self.crane else [])]
            props: dict[str, object] = {"mass": 1, "hands": 1, "bolts": 0, "length": rng.choice((3, 5, 5, 6, 8, 8))}
            self._add(name, "cord", props=props, ends=(rng.choice(points), rng.choice(points)))

    def _step(self, world: World) -> Step | None:
        """Every other step is a move."""
        whole = self.actions
        if self.chance(0.5):
            self.actions = tuple(a for a in whole if a.words[0] in ("go", "fly"))
        try:
            return super()._step(world)
        finally:
            self.actions = whole

    def _rule(self) -> Rule | None:
        return None

    def _shared(self, plan: Plan) -> bool:
        """Mostly plans of which it is a line that another order would break."""
        loose = replace(plan, rules=[], done={}, after={}, steps=[replace(s, on=(), beside=()) for s in plan.steps])
        try:
            why = Timings(loose, 250).breaks()
        except TooMany:
            return False
        return "too short" in why or self.chance(0.02)


__all__ = ["ACTIONS", "LinesMaker", "lines_plan"]
