"""Small plans on the vocabularies that come with the compiler: the oracle's own transcription of a part of them.

Everything happens at worksites outside; each of the crew stays on a long strap, so only the rules on live joints and on
the moving arm can be broken.
"""

from __future__ import annotations

import random

from oracles.brute import Action, Hold, Kind, Lit, Plan, Rule
from oracles.generate import PLACES, Maker
from oracles.vocabulary import near, off, on

KINDS = {
    k.name: k
    for k in (
        Kind("load", "item"),
        Kind("gear", "item", ("load",)),
        Kind("tool", "item", ("gear",)),
        Kind("rest", "item", ("load",), (Hold("boots", 1, "suited"),)),
        Kind("foot-rest", "item", ("rest",)),
        Kind("arm-rest", "item", ("rest",)),
        Kind("bag", "item", ("gear",), (Hold("pocket", 6, "load", "bulk"),)),
        Kind("unit", "item", ("load",), counts=("bolts",)),
        Kind("line", "item", ends=True),
        Kind("tether", "item", ("line",)),
        Kind("strap", "item", ("tether",)),
        Kind("worksite", "location", (), (Hold("hook", None, "line"), Hold("strap", None, "gear")), admits="suited"),
        Kind("fixture", "location"),
        Kind("seat", "location", ("fixture",), (Hold("bolts", 1, "unit"),)),
        Kind("latch", "location", ("fixture",), (Hold("latch", 1, "unit"),)),
        Kind("rail", "location", ("fixture",), (Hold("clip", 3, "load"),)),
        Kind("socket", "location", ("fixture",), (Hold("probe", 1, "rest"),)),
        Kind("connector", "location", ("fixture",), (Hold("plug", 1, "line"),)),
        Kind(
            "suited",
            "actor",
            (),
            (Hold("hook", None, "tether"), Hold("hand", 2, "load", "hands"), Hold("clip", 4, "bag")),
            120,
        ),
        Kind("arm", "actor", (), (Hold("grip", 1, "load"), Hold("plate", 1, "arm-rest")), 400),
        Kind("cabin-crew", "actor"),
    )
}

HOLDER = ("HOLDER", ("bag", "fixture", "worksite"))
INTO = ("HOLDER", ("bag", "fixture"))
UNIT = ("UNIT", ("unit",))
NO_REST = Lit("on", "actor", ("none", "rest"))
EMPTY = Lit("on", ("none", "suited"), "REST")


def _is(thing: str, prop: str, value: object, afar: bool = False) -> Lit:
    return Lit("is", thing, prop=prop, value=value, afar=afar)


def _take(slot: str, kind: str, *more: Lit) -> Action:
    return Action(
        ("take", (slot, (kind,)), "from", HOLDER),
        "suited",
        (on(slot, "HOLDER"), near("HOLDER"), *more),
        (on(slot, "actor", "hand"), off(slot, "HOLDER")),
    )


def _put(verb: str, slot: str, kind: str, word: str, where: tuple[str, tuple[str, ...]], *more: Lit) -> Action:
    return Action(
        (verb, (slot, (kind,)), word, where),
        "suited",
        (on(slot, "actor", "hand"), near(where[0]), *more),
        (on(slot, where[0]), off(slot, "actor", "hand")),
    )


REST, ARM_REST, BAG = ("REST", ("rest",)), ("REST", ("arm-rest",)), ("BAG", ("bag",))
SEAT, JOINT, SITE = ("SEAT", ("seat",)), ("JOINT", ("connector",)), ("PLACE", ("worksite",))

ACTIONS = (
    Action(
        ("go", "to", SITE),
        "suited",
        (NO_REST, Lit("on", ("none", "unit"), "actor", "hand")),
        (Lit("at", "actor", "PLACE"),),
        serves="actor at PLACE along paths",
    ),
    Action(("get", "in", ("REST", ("foot-rest",))), "suited", (near("REST"), EMPTY), (Lit("on", "actor", "REST"),)),
    Action(
        ("get", "out", "of", ("REST", ("foot-rest",))),
        "suited",
        (Lit("on", "actor", "REST"),),
        (off("actor", "REST"),),
    ),
    _take("ITEM", "gear"),
    _take("REST", "rest", EMPTY),
    _put("put", "ITEM", "gear", "on", INTO),
    _put("put", "REST", "rest", "on", INTO),
    _put("leave", "ITEM", "gear", "on", SITE),
    _put("mate", "UNIT", "unit", "to", SEAT),
    _put("park", "UNIT", "unit", "on", ("LATCH", ("latch",))),
    Action(
        ("clip", BAG),
        "suited",
        (on("BAG", "actor", "hand"),),
        (on("BAG", "actor", "clip"), off("BAG", "actor", "hand")),
    ),
    Action(
        ("unclip", BAG),
        "suited",
        (on("BAG", "actor", "clip"),),
        (on("BAG", "actor", "hand"), off("BAG", "actor", "clip")),
    ),
    Action(
        ("hand", ("ITEM", ("load",)), "to", ("TAKER", ("actor",))),
        "actor",
        (on("ITEM", "actor"), near("TAKER")),
        (on("ITEM", "TAKER"), off("ITEM", "actor")),
        joined=("TAKER",),
    ),
    Action(
        ("lift", UNIT, "from", ("SEAT", ("seat", "latch"))),
        "suited",
        (on("UNIT", "SEAT"), near("SEAT"), _is("UNIT", "bolts", 0)),
        (on("UNIT", "actor", "hand"), off("UNIT", "SEAT")),
    ),
    Action(
        ("free", UNIT, "from", SEAT),
        "suited",
        (on("UNIT", "SEAT"), near("SEAT"), _is("UNIT", "bolts", 0)),
        (on("UNIT", "actor", "hand"), on("UNIT", "helper", "hand"), off("UNIT", "SEAT")),
        "suited",
    ),
    Action(("take", "hold", "of", UNIT), "suited", (near("UNIT"),), (on("UNIT", "actor", "hand"),)),
    Action(("let", "go", "of", UNIT), "suited", (on("UNIT", "actor", "hand"),), (off("UNIT", "actor", "hand"),)),
    Action(
        ("clear", UNIT, "from", SEAT),
        "suited",
        (on("UNIT", "SEAT"), near("SEAT"), _is("UNIT", "bolts", 0)),
        (off("UNIT", "SEAT"),),
    ),
    Action(
        ("unplug", JOINT),
        "suited",
        (near("JOINT"), _is("JOINT", "joint", "made")),
        (_is("JOINT", "joint", "broken"),),
        works_on="JOINT",
    ),
    Action(
        ("plug", JOINT),
        "suited",
        (near("JOINT"), _is("JOINT", "joint", "broken")),
        (_is("JOINT", "joint", "made"),),
        works_on="JOINT",
    ),
    Action(("inspect", ("SUBJECT", ("thing",))), "suited", (near("SUBJECT"),)),
    Action(("fly", "to", SITE), "arm", (), (Lit("at", "actor", "PLACE"),), serves="actor at PLACE"),
    Action(
        ("fly", "to", SITE),
        "arm",
        (Lit("on", "helper", ("some", "arm-rest")),),
        (Lit("at", "actor", "PLACE"),),
        "suited",
    ),
    Action(("grip", ("ITEM", ("load",))), "arm", (near("ITEM"),), (on("ITEM", "actor", "grip"),)),
    Action(("release", ("ITEM", ("load",))), "arm", (on("ITEM", "actor", "grip"),), (off("ITEM", "actor", "grip"),)),
    Action(
        ("fit", ARM_REST, "on", ("ARM", ("arm",))),
        "suited",
        (on("REST", "actor", "hand"), near("ARM")),
        (on("REST", "ARM", "plate"), off("REST", "actor", "hand")),
        joined=("ARM",),
    ),
    Action(
        ("mount", ARM_REST),
        "suited",
        (near("REST"), Lit("on", "REST", ("some", "arm")), EMPTY, NO_REST),
        (Lit("on", "actor", "REST"),),
    ),
    Action(("dismount", ARM_REST), "suited", (Lit("on", "actor", "REST"),), (off("actor", "REST"),)),
    Action(("switch", "off", ("FEED", ("connector",))), "cabin-crew", (), (_is("FEED", "power", "off", afar=True),)),
    Action(("switch", "on", ("FEED", ("connector",))), "cabin-crew", (), (_is("FEED", "power", "on", afar=True),)),
)

RULES = [
    Rule(
        False,
        (Lit("working", ("some", "actor"), "FEED"), Lit("is", "FEED", prop="power", value="on")),
        (("FEED", "connector"),),
    ),
    Rule(
        False,
        (Lit("at", "WHO", "SPOT"), Lit("on", "WHO", ("none", "arm-rest")), Lit("moving", "ARM", "SPOT")),
        (("WHO", "suited"), ("SPOT", "worksite"), ("ARM", "arm")),
    ),
]


class ShippedMaker(Maker):
    def __init__(self, rng: random.Random) -> None:
        super().__init__(rng)
        self.kinds = KINDS
        self.vocabulary = ACTIONS
        self.themes = {"": frozenset()}
        self.shipped = True

    def _places(self) -> list[tuple[str, str, int]]:
        rng = self.rng
        count = rng.choice((2, 2, 3))
        for place in PLACES[:count]:
            self._add(place, "worksite", props={"room": rng.choice((1, 2, 3))})
        for name, kind in (
            ("peg", "rail"),
            ("cup", "socket"),
            ("base", "seat"),
            ("hatch", "latch"),
            ("tap", "connector"),
        ):
            if self.chance(0.75):
                props = {"power": rng.choice(("on", "off")), "joint": rng.choice(("made", "broken"))}
                self._add(name, kind, near=(rng.choice(PLACES[:count]),), props=props if kind == "connector" else {})
        return [(PLACES[i], PLACES[i + 1], 5) for i in range(count - 1)]

    def _actors(self) -> None:
        rng = self.rng
        places = [p for p in PLACES if p in self.things]
        for name in ("ana", "ben"):
            self._add(name, "suited", place=rng.choice(places))
        self._add("ops", "cabin-crew", place=rng.choice(places))
        runner = "ops" if self.chance(0.4) else None
        self._add("boom", "arm", place=rng.choice(places), runner=runner, reaches=tuple(places))

    def _items(self) -> None:
        rng = self.rng
        for who in ("ana", "ben"):
            props = {"length": 900, "user": who}
            self._add(f"strap-{who}", "strap", props=props, ends=(PLACES[0], who))
        self._one("sack", "bag", {"mass": 1, "hands": 1, "bulk": 1})
        self._one("pan", "tool", {"mass": 1, "hands": 1, "bulk": rng.choice((1, 6))})
        if self.chance(0.6):
            self._one("pump", "unit", {"mass": 90, "hands": 2, "bulk": 4, "bolts": 0})
        if self.chance(0.6):
            self._one("perch", "arm-rest", {"mass": 9, "hands": 1, "bulk": 1})
        if self.chance(0.5):
            self._one("step", "foot-rest", {"mass": 6, "hands": 1, "bulk": 1})


def shipped_plan(rng: random.Random) -> Plan:
    maker = ShippedMaker(rng)
    plan = maker.plan()
    plan.rules = list(RULES)
    return plan
