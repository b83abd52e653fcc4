"""Small plans about sums and groups: bags with something in them, limits that are nearly reached, one of several alike.

The kinds' limits are drawn anew for each plan, near what is aboard at first; some steps fill or drain a thing, some put
one away from afar, and some take ``any`` of a group.
"""

from __future__ import annotations

import random
from dataclasses import replace

from oracles.brute import HEAVIEST, Action, Lit, Plan, Rule, Step, Values, View, World
from oracles.generate import PLACES, Maker, fault
from oracles.timings import Timings, TooMany
from oracles.vocabulary import ITEM, OWN_ACTIONS, OWN_KINDS, near, off, on

_BAG = ("BAG", ("bag", "chest", "hook"))

MORE_ACTIONS = (
    Action(("fill", ITEM), "crew", (near("ITEM"),), (Lit("is", "ITEM", prop="mass", value=HEAVIEST),)),
    Action(("drain", ITEM), "crew", (near("ITEM"),), (Lit("is", "ITEM", prop="mass", value=1),)),
    Action(
        ("send", ITEM, "from", ("HOLDER", ("bag", "chest", "hook", "site")), "into", _BAG),
        "desk",
        (on("ITEM", "HOLDER"),),
        (on("ITEM", "BAG")._replace(afar=True), off("ITEM", "HOLDER")._replace(afar=True)),
    ),
)
ACTIONS = (*OWN_ACTIONS, *MORE_ACTIONS)

THEMES: dict[str, frozenset[str]] = {
    "packing": frozenset({"stow", "draw", "take", "put", "hand", "hold", "drop"}),
    "lifting": frozenset({"grip", "release", "hold", "drop", "take", "put", "stow", "draw"}),
    "riding": frozenset({"mount", "squeeze", "leave", "fit", "take", "put", "stow", "draw", "grip", "release"}),
    "filling": frozenset({"fill", "drain", "take", "put", "hold", "drop", "grip"}),
    "sending": frozenset({"send", "take", "put", "grip", "release", "hold", "clip", "unclip"}),
    "choosing": frozenset({"take", "put", "stow", "draw", "hand", "hold", "fill", "drain", "mind"}),
}


def loads_plan(rng: random.Random) -> Plan:
    return LoadsMaker(rng).plan()


class LoadsMaker(Maker):
    """Everything close together, so that the order is what matters."""

    def __init__(self, rng: random.Random) -> None:
        super().__init__(rng)
        self.tidy = self.chance(0.8)
        self.vocabulary = ACTIONS
        self.themes = THEMES
        self.groups: dict[str, tuple[str, ...]] = {}

    def _try(self) -> Plan:
        self.kinds = dict(OWN_KINDS)
        return super()._try()

    def _places(self) -> list[tuple[str, str, int]]:
        rng = self.rng
        self.groups = {}
        count = rng.choice((1, 1, 1, 2))
        for place in PLACES[:count]:
            self._add(place, rng.choice(("site", "site", "site", "floor")), props={"room": 4})
        self._add("peg", "hook", near=PLACES[:count])
        return [(PLACES[i], PLACES[i + 1], 3) for i in range(count - 1)]

    def _actors(self) -> None:
        rng = self.rng
        places = [p for p in PLACES if p in self.things]
        for name in ("ana", "ben", "cyd")[: rng.choice((2, 3, 3))]:
            self._add(name, "crew", place=rng.choice(places), props={"mass": rng.choice((0, 0, 1, 3))})
        self.crane = self.theme in ("lifting", "riding") or self.chance(0.4)
        if self.theme == "sending" or self.chance(0.2):
            self._add("ops", "desk", place=places[0])
        if self.crane:
            self._add("boom", "crane", place=places[0], reaches=tuple(places))

    def _items(self) -> None:
        rng = self.rng
        names = [("box", "chest")] if self.chance(0.6) else []
        names += [("sack", "bag"), ("kit", "bag")][: rng.choice((1, 1, 2))]
        names += [("seat", "perch")] if self.theme == "riding" else []
        names += [("cup", "load"), ("pan", "load"), ("jar", "load")][: rng.choice((1, 2, 2, 3))]
        for name, kind in names:
            props: dict[str, object] = {"mass": rng.choice((1, 1, 2, 3)), "hands": 1, "bolts": 0}
            if kind == "chest":
                props["lid"] = "open"
            self._one(name, kind, props)
            if kind == "load" and self.chance(0.4):
                self._into_a_bag(name)
        if self.theme == "riding" and "seat" in self.things and self.chance(0.7):
            self.things["seat"].held = (("plate", "boom"),)
            if self.chance(0.5):
                self.things["ben"].place = "seat"
        if self.theme == "choosing" or self.chance(0.25):
            self._group()

    def _into_a_bag(self, name: str) -> None:
        bags = [b for b in ("sack", "kit", "box") if b in self.things]
        if bags:
            self.things[name].held = (("pocket", self.rng.choice(bags)),)

    def _group(self) -> None:
        rng = self.rng
        members = tuple(f"mug-{i + 1}" for i in range(rng.choice((2, 2, 3))))
        props: dict[str, object] = {"mass": rng.choice((1, 2)), "hands": 1, "bolts": 0}
        spots = [("strap", p) for p in PLACES if p in self.things]
        spots += [("pocket", b) for b in ("sack", "box") if b in self.things and len(members) < 3]
        spot = rng.choice(spots)
        for name in members:
            self._add(name, "load", props=dict(props), held=(spot,))
        self.groups = {"mug": members}

    # --- limits ------------------------------------------------------------------------------------------------------

    def _steps(self, plan: Plan) -> None:
        """Limits are drawn when the steps are known: as much as they need one after the other, and little more."""
        plan.groups = self.groups
        if self.tidy:
            self._haul(plan)
        else:
            super()._steps(plan)
        world = World(plan)
        values = world.start()
        views = [View(world, values)]
        for step in plan.steps:
            before = dict(values)
            fault(world, step, values)
            views.append(View(world, before, {v: x for v, x in values.items() if x != before.get(v, x)}))
        for name in ("crew", "crane", "bag", "chest", "site"):
            holders = [t for t in self.things if world.a(t, (name,))]
            most = max((load for view in views for load in loads_of(view, holders)), default=0)
            if most and self.chance(0.6):
                limit = most + self.rng.choice((0, 0, 0, 1, 2)) - self.chance(0.004)
                self.kinds[name] = self.kinds[name]._replace(carries=max(1, limit))

    def _rule(self) -> Rule | None:
        return super()._rule() if self.chance(0.05) else None

    # --- steps -------------------------------------------------------------------------------------------------------

    def _step(self, world: World) -> Step | None:
        """Where a step takes one of a group it may take any."""
        step = super()._step(world)
        return self._any(step) if step is not None else None

    def _any(self, step: Step) -> Step:
        for slot, kinds in step.action.slots():
            if step.args[slot] in self.groups.get("mug", ()) and "load" in kinds and self.chance(0.7):
                step = replace(step, args={**step.args, slot: "any mug"})
        return step

    def _haul(self, plan: Plan) -> None:
        """Each of the crew packs and unpacks things of their own; they meet in what they load."""
        world = World(plan)
        values = world.start()
        movers = [a for a in world.actors if world.a(a, ("crew",))]
        things = [i for i in world.items if i not in ("box", "seat")]
        owner = {i: self.rng.choice(movers) for i in things if i not in self.groups.get("mug", ())}
        for item, (_, holder), *_ in ((i, *values["held", i]) for i in owner):
            owner[item] = holder if holder in movers else owner.get(holder, owner[item])
        for _ in range(self.rng.choice((4, 5, 5, 6, 6, 7))):
            for _attempt in range(30):
                actor = self.rng.choice(movers)
                ways = self._ways(world, values, actor, [i for i in things if owner.get(i, actor) == actor])
                if not ways:
                    continue
                verb, args = self.rng.choice(ways)
                action = next(a for a in self.vocabulary if a.words[0] == verb)
                step = self._any(Step(action, "ops" if action.by == "desk" else actor, None, args))
                trial = dict(values)
                if not fault(world, step, trial):
                    values = trial
                    plan.steps.append(step)
                    break

    def _ways(self, world: World, values: Values, actor: str, own: list[str]) -> list[tuple[str, dict[str, str]]]:
        """What one of the crew could do next: verb and arguments."""
        shared = [n for n in ("box", "deck", "deck", "peg") if n in self.things]
        out: list[tuple[str, dict[str, str]]] = []
        for item in own:
            manner, holder = values["held", item][0] if values["held", item] else ("", "")
            bag = world.a(item, ("bag",))
            if holder == actor and manner == "hand":
                out += [("put", {"ITEM": item, "HOLDER": other}) for other in shared]
                out += [("clip", {"BAG": item})] if bag else []
                out += [("stow", {"ITEM": item, "BAG": b}) for b in own if b != item and world.a(b, ("bag",))]
            elif holder == actor:
                out.append(("unclip", {"BAG": item}))
            elif holder in own:
                out.append(("draw", {"ITEM": item, "BAG": holder}))
            elif holder:
                out += [("take", {"ITEM": item, "HOLDER": holder})] * 2
            out += [(verb, {"ITEM": item}) for verb in ("fill", "drain") if self.theme == "filling"]
            if holder in ("box", "peg", "deck") and "ops" in self.things:
                into = [b for b in ("box", "sack") if b in self.things]
                out += [("send", {"ITEM": item, "HOLDER": holder, "BAG": bag}) for bag in into]
        if "seat" in self.things:
            out.append(("leave" if values["place", actor] == "seat" else "squeeze", {"PERCH": "seat"}))
        return out

    def _shared(self, plan: Plan) -> bool:
        """Mostly plans of which it is a sum, or a choice, that another order would break."""
        if not self.tidy:
            return super()._shared(plan)
        loose = replace(plan, rules=[], done={}, after={}, steps=[replace(s, on=(), beside=()) for s in plan.steps])
        try:
            why = Timings(loose, 250).breaks()
        except TooMany:
            return False
        return "carries" in why or self.chance(0.3 if why and self.groups else 0.03)


def loads_of(view: View, holders: list[str]) -> list[int]:
    """The most that each holds, old and new values both counting."""
    weights = {n: (max(view.options(var)), view.aboard(n)) for var in view.values if var[0] == "mass" for n in var[1:]}
    return [sum(w for n, (w, below) in weights.items() if n != h and h in below) for h in holders]


__all__ = ["ACTIONS", "LoadsMaker", "loads_plan"]
