"""The vocabulary of the generated plans: kinds and actions as data, for the oracle and for the text alike."""

from __future__ import annotations

from oracles.brute import Action, Hold, Kind, Lit


def on(a: str, b: str, manner: str | None = None) -> Lit:
    return Lit("on", a, b, manner)


def off(a: str, b: str, manner: str | None = None) -> Lit:
    return Lit("on", a, b, manner, neg=True)


def near(a: str) -> Lit:
    return Lit("reach", a, "actor")


OWN_KINDS = {
    k.name: k
    for k in (
        Kind("load", "item"),
        Kind("bag", "item", ("load",), (Hold("pocket", 2, "load"),)),
        Kind("chest", "item", ("load",), (Hold("pocket", 3, "load"),)),
        Kind("perch", "item", ("load",), (Hold("boots", 1, "crew"),)),
        Kind("cord", "item", ("load",), ends=True),
        Kind("site", "location", (), (Hold("strap", None, "load"),), admits="crew"),
        Kind("floor", "location", ("site",), ground=True),
        Kind("hook", "location", (), (Hold("catch", 1, "load"),)),
        Kind("valve", "location", (), (Hold("plug", None, "cord"),)),
        Kind(
            "crew",
            "actor",
            (),
            (Hold("hand", 2, "load", "hands"), Hold("clip", 1, "bag"), Hold("ring", None, "cord")),
            9,
        ),
        Kind("crane", "actor", (), (Hold("grip", 1, "load"), Hold("plate", 1, "perch")), 8),
        Kind("desk", "actor"),
    )
}

KIND_LINES = {
    "load": ["has mass: kg, usually 1 kg", "has hands: count, usually 1", "has bolts: count, usually 2"],
    "chest": ["has lid: open or shut, usually open"],
    "cord": ["has length: m", "ends 2", "length length"],
    "site": ["inside", "has room: count, usually 2", "admits room crew"],
    "yard": ["has room: count, usually 2", "admits room crew"],
    "hook": ["inside"],
    "valve": ["inside", "has power: on or off, usually on"],
    "floor": ["ground"],
    "crew": ["has mass: kg, usually 0 kg"],
}

COUNTS = {"load": ("bolts",)}
OWN_KINDS = {name: kind._replace(counts=COUNTS.get(name, ())) for name, kind in OWN_KINDS.items()}

ITEM, HOLDER = ("ITEM", ("load",)), ("HOLDER", ("thing",))

OWN_ACTIONS = (
    Action(
        ("go", "to", ("PLACE", ("site",))),
        "crew",
        (),
        (Lit("at", "actor", "PLACE"),),
        serves="actor at PLACE along paths",
    ),
    Action(("fly", "to", ("PLACE", ("site",))), "crane", (), (Lit("at", "actor", "PLACE"),), serves="actor at PLACE"),
    Action(("ferry", "to", ("PLACE", ("site",))), "crane", (near("helper"),), (Lit("at", "actor", "PLACE"),), "crew"),
    Action(
        ("take", ITEM, "from", HOLDER),
        "crew",
        (on("ITEM", "HOLDER"), near("HOLDER")),
        (on("ITEM", "actor", "hand"), off("ITEM", "HOLDER")),
    ),
    Action(
        ("put", ITEM, "on", HOLDER),
        "crew",
        (on("ITEM", "actor", "hand"), near("HOLDER")),
        (on("ITEM", "HOLDER"), off("ITEM", "actor", "hand")),
    ),
    Action(
        ("stow", ITEM, "in", ("BAG", ("bag",))),
        "crew",
        (on("ITEM", "actor", "hand"), on("BAG", "actor")),
        (on("ITEM", "BAG", "pocket"), off("ITEM", "actor", "hand")),
    ),
    Action(
        ("draw", ITEM, "from", ("BAG", ("bag",))),
        "crew",
        (on("ITEM", "BAG"), on("BAG", "actor")),
        (on("ITEM", "actor", "hand"), off("ITEM", "BAG")),
    ),
    Action(
        ("clip", ("BAG", ("bag",))),
        "crew",
        (on("BAG", "actor", "hand"),),
        (on("BAG", "actor", "clip"), off("BAG", "actor", "hand")),
    ),
    Action(
        ("unclip", ("BAG", ("bag",))),
        "crew",
        (on("BAG", "actor", "clip"),),
        (on("BAG", "actor", "hand"), off("BAG", "actor", "clip")),
    ),
    Action(("hold", ITEM), "crew", (near("ITEM"),), (on("ITEM", "actor", "hand"),)),
    Action(("drop", ITEM), "crew", (on("ITEM", "actor", "hand"),), (off("ITEM", "actor", "hand"),)),
    Action(
        ("hand", ITEM, "to", ("TAKER", ("crew", "crane"))),
        "crew",
        (on("ITEM", "actor"), near("TAKER")),
        (on("ITEM", "TAKER"), off("ITEM", "actor")),
        joined=("TAKER",),
    ),
    Action(
        ("heave", ITEM, "from", HOLDER),
        "crew",
        (on("ITEM", "HOLDER"), near("HOLDER")),
        (on("ITEM", "actor", "hand"), on("ITEM", "helper", "hand"), off("ITEM", "HOLDER")),
        "crew",
    ),
    Action(
        ("lower", ITEM, "onto", HOLDER),
        "crew",
        (on("ITEM", "actor", "hand"), on("ITEM", "helper", "hand"), near("HOLDER")),
        (on("ITEM", "HOLDER"), off("ITEM", "actor"), off("ITEM", "helper")),
        "crew",
    ),
    Action(("grip", ITEM), "crane", (near("ITEM"),), (on("ITEM", "actor", "grip"),)),
    Action(("release", ITEM), "crane", (on("ITEM", "actor", "grip"),), (off("ITEM", "actor", "grip"),)),
    Action(
        ("fit", ("PERCH", ("perch",)), "to", ("CRANE", ("crane",))),
        "crew",
        (on("PERCH", "actor", "hand"), near("CRANE"), Lit("on", ("none", "crew"), "PERCH")),
        (on("PERCH", "CRANE", "plate"), off("PERCH", "actor", "hand")),
        joined=("CRANE",),
    ),
    Action(
        ("mount", ("PERCH", ("perch",))),
        "crew",
        (near("PERCH"), Lit("on", ("none", "crew"), "PERCH")),
        (Lit("on", "actor", "PERCH"),),
    ),
    Action(("squeeze", "into", ("PERCH", ("perch",))), "crew", (near("PERCH"),), (Lit("on", "actor", "PERCH"),)),
    Action(("leave", ("PERCH", ("perch",))), "crew", (Lit("on", "actor", "PERCH"),), (off("actor", "PERCH"),)),
    Action(("tie", ("CORD", ("cord",))), "crew", (Lit("to", "CORD", "here"),), (Lit("to", "CORD", "actor"),)),
    Action(("untie", ("CORD", ("cord",))), "crew", (Lit("to", "CORD", "actor"),), (Lit("to", "CORD", "here"),)),
    Action(
        ("anchor", ("CORD", ("cord",)), "at", ("END", ("site", "valve"))),
        "crew",
        (near("CORD"), near("END")),
        (Lit("from", "CORD", "END"),),
    ),
    Action(
        ("shut", ("VALVE", ("valve",))),
        "crew",
        (Lit("is", "VALVE", prop="power", value="on"),),
        (Lit("is", "VALVE", prop="power", value="off"),),
    ),
    Action(
        ("switch", "off", ("VALVE", ("valve",))),
        "desk",
        (),
        (Lit("is", "VALVE", prop="power", value="off", afar=True),),
    ),
    Action(
        ("switch", "on", ("VALVE", ("valve",))), "desk", (), (Lit("is", "VALVE", prop="power", value="on", afar=True),)
    ),
    Action(
        ("scrub", ("VALVE", ("valve",))),
        "crew",
        (near("VALVE"), Lit("is", "VALVE", prop="power", value="off")),
        works_on="VALVE",
    ),
    Action(("poke", ("VALVE", ("valve",))), "crew", (near("VALVE"),), works_on="VALVE"),
    Action(
        ("close", ("CHEST", ("chest",))),
        "crew",
        (near("CHEST"), Lit("is", "CHEST", prop="lid", value="open")),
        (Lit("is", "CHEST", prop="lid", value="shut"),),
    ),
    Action(
        ("turn", "bolt", "of", ITEM),
        "crew",
        (Lit("least", "ITEM", prop="bolts", value=1),),
        (Lit("is", "ITEM", prop="bolts", value=("less", 1)),),
    ),
    Action(("look", "at", ("THING", ("thing",))), "crew", (near("THING"),)),
    Action(("mind", ITEM), "crew", (on("ITEM", "actor"),)),
    Action(("stay", "empty"), "crew", (Lit("on", ("none", "load"), "actor", "hand"),)),
    Action(("wait",), "crew"),
    Action(("idle",), "desk"),
)
