"""Small plans by chance. The same seed gives the same plan."""

from __future__ import annotations

import random
from dataclasses import replace

from oracles.brute import Action, Broken, Lit, Plan, Rule, Step, Thing, Values, View, World, limits
from oracles.effects import Performer, occupied, predicted
from oracles.timings import Timings, TooMany, chosen, groups_in, unmet_need
from oracles.vocabulary import OWN_ACTIONS, OWN_KINDS

PLACES = ("deck", "quay", "roof")

# What a plan is mostly about, by the first words of its actions.
THEMES: dict[str, frozenset[str]] = {
    "riding": frozenset(
        {"fly", "ferry", "mount", "squeeze", "leave", "hold", "drop", "grip", "release", "fit", "take", "put"}
    ),
    "room": frozenset({"go", "fly", "mount", "leave", "look"}),
    "shared": frozenset({"hold", "drop", "grip", "release", "take", "put", "heave", "lower", "hand"}),
    "pegs": frozenset({"take", "put", "hold", "hand", "turn", "mind"}),
    "bags": frozenset({"stow", "draw", "clip", "unclip", "take", "put", "hand", "stay"}),
    "lines": frozenset({"tie", "untie", "anchor", "go", "hold", "drop"}),
    "switches": frozenset({"shut", "switch", "scrub", "poke", "close", "go", "turn"}),
}


def plan_from(seed: int) -> Plan:
    """Every fifth is written on the shipped vocabularies, every fifth is about loads and groups, every tenth about
    lines, every tenth has bystanders."""
    if seed % 20 in (6, 12):
        from oracles.generate_lines import lines_plan

        return lines_plan(random.Random(seed))
    if seed % 5 == 3:
        from oracles.generate_loads import loads_plan

        return loads_plan(random.Random(seed))
    if seed % 5 == 4:
        from oracles.shipped import shipped_plan

        return shipped_plan(random.Random(seed))
    plan = Maker(random.Random(seed)).plan()
    if seed % 20 in (0, 16):
        from oracles.bystanders import with_bystanders

        return with_bystanders(plan, random.Random(f"bystanders {seed}"))
    return plan


class Maker:
    """Makes one plan: things at random places, then steps that (mostly) work one after the other, then some order."""

    def __init__(self, rng: random.Random) -> None:
        self.rng = rng
        self.kinds = OWN_KINDS
        self.vocabulary: tuple[Action, ...] = OWN_ACTIONS
        self.actions = self.vocabulary
        self.themes = THEMES
        self.shipped = False
        self.things: dict[str, Thing] = {}
        self.latest = ""
        self.busy: set[str] = set()  # what earlier steps touched: later ones like to touch it again

    def chance(self, p: float) -> bool:
        return self.rng.random() < p

    def plan(self) -> Plan:
        """Plans of which nobody's steps touch what another's touch are mostly thrown away."""
        while True:
            plan = self._try()
            if self._shared(plan) or self.chance(0.1):
                return plan

    def _try(self) -> Plan:
        rng = self.rng
        self.theme = rng.choice((*self.themes, "", ""))
        self.actions = self.vocabulary
        while True:
            self.things = {}
            paths = self._places()
            self._actors()
            self._items()
            plan = Plan(self.kinds, self.things, paths, [], [], shipped=self.shipped)
            world = World(plan)
            if next(limits(View(world, world.start())), None) is None:
                break
        self.actions = tuple(self._odd(a) if not self.shipped and self.chance(0.05) else a for a in self.actions)
        self.busy = set()
        self._steps(plan)
        self._order(plan)
        if not self.shipped and self.chance(0.7 if self.theme in ("switches", "room") else 0.4):
            for _ in range(5):
                rule = self._rule()
                if rule is not None and (self.chance(0.04) or self._kept(plan, rule)):
                    plan.rules.append(rule)
                    break
        self._done(plan)
        self._left(plan)
        self._headings(plan)
        return plan

    def _shared(self, plan: Plan) -> bool:
        """Whether, with no order at all between actors, it would matter what comes first."""
        loose = replace(plan, rules=[], done={}, after={}, steps=[replace(s, on=(), beside=()) for s in plan.steps])
        try:
            return bool(plan.rules) or bool(Timings(loose, 250).breaks())
        except TooMany:
            return True

    # --- things ------------------------------------------------------------------------------------------------------

    def _add(self, name: str, kind: str, **rest: object) -> None:
        self.things[name] = Thing(name, kind, **rest)  # type: ignore[arg-type]

    def _places(self) -> list[tuple[str, str, int]]:
        rng = self.rng
        count = rng.choice((2, 2, 3))
        for place in PLACES[:count]:
            self._add(place, "floor" if self.chance(0.15) else "site", props={"room": rng.choice((1, 2, 2, 3, 3))})
        for name in ("peg", "nail")[: 2 if self.theme == "pegs" else rng.choice((0, 1, 1, 2))]:
            self._add(name, "hook", near=tuple(rng.sample(PLACES[:count], rng.choice((1, 1, 2)))))
        if self.chance(0.9 if self.theme == "switches" else 0.25):
            self._add("tap", "valve", near=(rng.choice(PLACES[:count]),), props={"power": rng.choice(("on", "off"))})
        return [(PLACES[i], PLACES[i + 1], rng.choice((3, 5))) for i in range(count - 1)]

    def _actors(self) -> None:
        rng = self.rng
        places = [p for p in PLACES if p in self.things]
        for name in ("ana", "ben") if self.chance(0.3 if self.theme == "room" else 0.8) else ("ana", "ben", "cyd"):
            self._add(name, "crew", place=rng.choice(places))
        self.crane = self.chance({"riding": 1, "room": 0.6, "shared": 0.7}.get(self.theme, 0.3))
        if self.chance(0.8 if self.theme == "switches" else 0.25):
            self._add("ops", "desk", place=rng.choice(places))
        if self.crane:
            runner = "ops" if "ops" in self.things and self.chance(0.5) else None
            self._add(
                "boom",
                "crane",
                place=rng.choice(places),
                runner=runner,
                reaches=tuple(p for p in places if self.chance(0.95)) or tuple(places),
            )

    def _items(self) -> None:
        rng = self.rng
        names = [("cup", "load"), ("pan", "load")][: rng.choice((1, 2, 2))]
        names += [("sack", "bag")] if self.chance(1 if self.theme == "bags" else 0.5) else []
        names += [("kit", "bag")] if self.chance(0.25) else []
        names += [("box", "chest")] if self.chance(0.25) else []
        names += [("seat", "perch")] if self.chance(0.8 if self.crane else 0.25) else []
        rng.shuffle(names)
        for name, kind in names:
            props: dict[str, object] = {
                "mass": rng.choice((1, 1, 2, 5)),
                "hands": rng.choice((1, 1, 1, 2)),
                "bolts": rng.randint(0, 2),
            }
            if kind == "chest":
                props["lid"] = rng.choice(("open", "open", "shut"))
            world = World(Plan(self.kinds, {**self.things, name: Thing(name, kind)}, [], [], []))
            spots = [
                (h.manner, holder)
                for holder in self.things
                for h in world.holds_of(self.things[holder].kind)
                if world.hold(name, holder, h.manner) is h
            ]
            if kind == "perch" and self.chance(0.8):
                spots = [s for s in spots if s[0] in ("plate", "catch")] or spots
            spot = rng.choice(spots)
            self._add(name, kind, props=props, held=(spot,))
            if kind == "perch" and self.chance(0.5):
                rider = self.things["ben"]
                here = View(World(Plan(self.kinds, self.things, [], [], [])), self._values()).location(name)
                if here is not None and spot[1] != "ben" and not self._aboard(name, "ben"):
                    rider.place = name
        if self.chance(1 if self.theme == "lines" else 0.15):
            owner = rng.choice(("ana", "ben"))
            here = View(World(Plan(self.kinds, self.things, [], [], [])), self._values()).location(owner)
            anchor = rng.choice([p for p in PLACES if p in self.things])
            if here in PLACES:
                self._add(
                    "rope",
                    "cord",
                    props={"mass": 1, "hands": 1, "bolts": 0, "length": rng.choice((3, 5, 8, 8))},
                    ends=(anchor, rng.choice((owner, str(here)))),
                )

    def _one(self, name: str, kind: str, props: dict[str, object]) -> None:
        """A thing on some holder that takes it."""
        world = World(Plan(self.kinds, {**self.things, name: Thing(name, kind)}, [], [], []))
        spots = [
            (h.manner, holder)
            for holder in self.things
            for h in world.holds_of(self.things[holder].kind)
            if world.hold(name, holder, h.manner) is h
        ]
        if spots:
            self._add(name, kind, props=props, held=(self.rng.choice(spots),))

    def _aboard(self, thing: str, holder: str) -> bool:
        return holder in View(World(Plan(self.kinds, self.things, [], [], [])), self._values()).below(thing)

    def _values(self) -> Values:
        return World(Plan(self.kinds, self.things, [], [], [])).start()

    def _odd(self, action: Action) -> Action:
        """An action with a need or an effect less, or effects in another order."""
        what = self.rng.choice(("need", "need", "make", "order"))
        if what == "need" and action.needs:
            gone = self.rng.randrange(len(action.needs))
            return action._replace(needs=tuple(n for i, n in enumerate(action.needs) if i != gone))
        if what == "make" and len(action.makes) > 1:
            gone = self.rng.randrange(len(action.makes))
            return action._replace(makes=tuple(m for i, m in enumerate(action.makes) if i != gone))
        if what == "order" and len(action.makes) > 1:
            return action._replace(makes=tuple(reversed(action.makes)))
        return action

    # --- steps -------------------------------------------------------------------------------------------------------

    def _steps(self, plan: Plan) -> None:
        """Steps that work when done one after the other, most of them."""
        world = World(plan)
        values = world.start()
        for _ in range(self.rng.choice((3, 4, 5, 5, 6, 6, 7))):
            careless = self.chance(0.02)
            for _attempt in range(60):
                step = self._step(world)
                if step is None:
                    continue
                trial = dict(values)
                wrong = fault(world, step, trial)
                if not wrong or careless or (wrong == "law" and self.chance(0.04)):
                    values = trial
                    plan.steps.append(step)
                    self.busy = {*self.busy, *step.args.values(), step.actor}
                    self.latest = step.actor
                    break

    def _step(self, world: World) -> Step | None:
        rng = self.rng
        themed = [a for a in self.actions if a.words[0] in self.themes.get(self.theme, ())]
        action = rng.choice(themed if themed and self.chance(0.85) else self.actions)
        actors = [a for a in world.actors if world.a(a, (action.by,))]
        if not actors:
            return None
        fresh = [a for a in actors if a != self.latest]
        actor = rng.choice(fresh if fresh and self.chance(0.6) else actors)
        helper = None
        if action.helped:
            others = [a for a in world.actors if world.a(a, (action.helped,)) and a != actor]
            if not others:
                return None
            helper = rng.choice(others)
        args: dict[str, str] = {}
        for name, kinds in action.slots():
            fitting = [t for t in world.things if world.a(t, kinds) and t not in (actor, *args.values())]
            if not fitting:
                return None
            known = [t for t in fitting if t in self.busy]
            args[name] = rng.choice(known if known and self.chance(0.75) else fitting)
        step = Step(action, actor, helper, args)
        cast = [actor, helper, *(args[s] for s in action.joined)]
        runners = [world.things[n].runner for n in cast if n]
        if any(r in cast for r in runners if r):
            return None
        return step

    # --- order -------------------------------------------------------------------------------------------------------

    def _order(self, plan: Plan) -> None:
        rng, steps = self.rng, plan.steps
        q = rng.choice((0.0, 0.0, 0.15, 0.3, 0.5, 0.8, 1.0))
        tasks = rng.choice((1, 1, 2, 3))
        cuts = sorted(rng.randrange(len(steps) + 1) for _ in range(tasks - 1)) if steps else []
        world = World(plan)
        last: dict[str, int] = {}
        for i, step in enumerate(steps):
            step.task = sum(cut <= i for cut in cuts)
            cast = occupied(world, step)
            others = {j for a, j in last.items() if a not in cast}
            step.on = tuple(sorted(j for j in others if self.chance(q)))
            last.update(dict.fromkeys(cast, i))
        for task in sorted({s.task for s in steps}):
            if task and self.chance(0.3):
                plan.after[task] = (rng.choice(sorted({s.task for s in steps if s.task < task}) or [task - 1]),)
                if not any(s.task == plan.after[task][0] for s in steps):
                    del plan.after[task]
        if len(steps) > 1 and self.chance(0.015):
            i, j = sorted(rng.sample(range(len(steps)), 2))
            steps[i].on = (*steps[i].on, j)
        if len(steps) > 1 and self.chance(0.12):
            self._beside(plan)

    def _beside(self, plan: Plan) -> None:
        """One step runs within another that nothing orders before or after it."""
        steps = plan.steps
        before = Timings(plan).before
        past: list[set[int]] = []
        for direct in before:
            past.append(direct | {k for j in direct if j < len(past) for k in past[j]})
        free = [
            (i, j)
            for i in range(len(steps))
            for j in range(len(steps))
            if i != j and i not in past[j] and j not in past[i]
        ]
        if free:
            i, j = self.rng.choice(free)
            steps[i].beside = (j,)

    # --- what stands over it -----------------------------------------------------------------------------------------

    def _rule(self) -> Rule | None:
        rng, things = self.rng, self.things
        places = [p for p in PLACES if p in things]
        place = rng.choice(places)
        choices: list[Rule] = [
            Rule(False, (Lit("at", "ana", place), Lit("at", "ben", rng.choice(places)))),
            Rule(False, (Lit("at", "ana", place), Lit("at", "ben", "SPOT")), (("SPOT", "site"),)),
            Rule(False, (Lit("at", ("some", "crew"), place), Lit("is", "cup", prop="bolts", value=0))),
        ]
        if "boom" in things:
            choices += [
                Rule(
                    False,
                    (Lit("at", "WHO", "SPOT"), Lit("moving", "boom", "SPOT")),
                    (("WHO", "crew"), ("SPOT", "site")),
                ),
                Rule(False, (Lit("at", "WHO", place), Lit("moving", "boom", place)), (("WHO", "crew"),)),
                Rule(False, (Lit("on", "ITEM", "boom"), Lit("at", "ana", place)), (("ITEM", "load"),)),
            ]
        if "tap" in things:
            choices += [
                Rule(
                    False,
                    (Lit("working", ("some", "crew"), "FEED"), Lit("is", "FEED", prop="power", value="on")),
                    (("FEED", "valve"),),
                )
            ] * 2
            choices.append(Rule(True, (Lit("is", "tap", prop="power", value="off"), Lit("at", "ana", place))))
        if "rope" in things:
            choices.append(Rule(True, (Lit("to", "rope", "ben"), Lit("at", "ben", place))))
        if "box" in things:
            choices.append(
                Rule(False, (Lit("on", ("some", "load"), "box"), Lit("is", "box", prop="lid", value="shut")))
            )
        if "sack" in things:
            choices.append(Rule(True, (Lit("on", "cup", "sack"), Lit("at", "ana", place))))
            choices.append(Rule(False, (Lit("on", "cup", "ana", "hand"), Lit("on", "sack", "ben"))))
        rule = rng.choice(choices)
        return rule if all(lit.a != "cup" or "cup" in things for lit in rule.tests) else None

    def _kept(self, plan: Plan, rule: Rule) -> bool:
        """Whether the rule holds when the steps are done one after the other, and (mostly) only then."""
        alone = replace(plan, rules=[rule], after={}, done={})
        one_by_one = [replace(s, on=(i - 1,) if i else (), beside=()) for i, s in enumerate(plan.steps)]
        if Timings(replace(alone, steps=one_by_one)).breaks():
            return False
        loose = Timings(replace(alone, steps=[replace(s, on=(), beside=()) for s in plan.steps]), 400)
        try:
            return "rule" in loose.breaks() or self.chance(0.1)
        except TooMany:
            return self.chance(0.1)

    def _done(self, plan: Plan) -> None:
        for task in sorted({s.task for s in plan.steps}):
            if self.chance(0.85):
                continue
            world = World(plan)
            values = world.start()
            for step in plan.steps:
                if step.task <= task:
                    fault(world, step, values)
            view = View(world, values)
            item = self.rng.choice(world.items)
            if view.anchors(item) and (self.shipped or self.chance(0.7)):
                plan.done[task] = (Lit("on", item, view.anchors(item)[0]),)
            elif not self.shipped:
                plan.done[task] = (Lit("is", item, prop="bolts", value=values["bolts", item]),)

    def _left(self, plan: Plan) -> None:
        """On the shipped vocabulary the plan says how it leaves what stands otherwise than normally."""
        if self.shipped:
            world = World(plan)
            values = world.start()
            for step in plan.steps:
                fault(world, step, values)
            plan.left = tuple(Lit("is", n, prop=p, value=v) for (p, n), v in values.items() if p in ("power", "joint"))

    def _headings(self, plan: Plan) -> None:
        """Some moves are written as arrivals, when they surely are moves and nobody names their end."""
        world = World(plan)
        place = {a: plan.things[a].place for a in world.actors}
        called = {n for s in plan.steps for n in (*s.on, *s.beside)}
        for i, step in enumerate(plan.steps):
            mover = (
                step.action in self.vocabulary
                and step.action.serves
                and not step.helper
                and step.args["PLACE"] != place[step.actor]
            )
            if mover and place[step.actor] in PLACES and i not in called and not step.beside and self.chance(0.5):
                step.heading = step.actor != "boom" or step.args["PLACE"] in plan.things["boom"].reaches
            if step.action.makes and step.action.makes[0].a == "actor":
                place[step.actor] = step.args.get("PLACE", "?")


def fault(world: World, step: Step, values: Values) -> str:
    """Does the step on the values; what went wrong with nobody else about: nothing (empty), a need or a law."""
    before = View(world, dict(values))
    if groups_in(step):
        step = chosen(step, world.plan, before, before)
    wrong = "" if unmet_need(before, before, step) is None else "need"
    try:
        Performer(world, step, values, (), False).run()
        now = View(world, dict(before.values), predicted(world, step, before.values))
        return wrong or ("law" if next(limits(now), None) else "")
    except Broken:
        return wrong or "law"
