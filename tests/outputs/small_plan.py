"""A small checked plan built by hand, to test the outputs without a parser: two crew, a hand-over, a call, a
drawn tool, a heading's way, a reading, a fallback card, a task that may be dropped."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from jackstay.flow.clocks import set_clocks
from jackstay.flow.records import Change, ExcursionFlow, Flow, Step
from jackstay.model.records import (
    Action,
    Answer,
    Block,
    Const,
    Duration,
    Entry,
    Excursion,
    Expect,
    Fallback,
    Formula,
    Hold,
    Holding,
    Kind,
    LeftThing,
    Mark,
    Measure,
    Member,
    Param,
    Part,
    Property,
    Remark,
    RouteLength,
    Task,
    Thing,
    Var,
    Wait,
    World,
)
from jackstay.model.words import title_of
from jackstay.source.spans import Span

MINUTE = 60
TIME = (("time", 1),)


@dataclass
class Checked:
    world: World
    flow: Flow
    diagnostics: list[Any] = field(default_factory=list)
    sources: dict[str, str] = field(default_factory=lambda: {"pier.stay": "campaign pier\n"})


class Builder:
    """Adds things, then steps; keeps the state, so that each step's changes and predecessors follow from its makes."""

    def __init__(self, name: str = "pier") -> None:
        self.line = 0
        self.world = World(name, title_of(name), self.at())
        self.kinds: dict[str, Kind] = {}
        self.things: dict[str, Thing] = {}
        self.state: list[Any] = []
        self.flow = Flow(self.world)
        self.open: ExcursionFlow | None = None
        self.last: dict[Thing, int] = {}

    def at(self) -> Span:
        self.line += 1
        return Span("pier.stay", self.line, 0, 8)

    def kind(self, name: str, sort: str, **more: Any) -> Kind:
        kind = Kind(name, title_of(name), sort, self.at(), **more)
        kind.lineage = (kind,)
        self.kinds[name] = kind
        self.world.kinds.append(kind)
        return kind

    def _var(self, thing: Thing, sort: str, value: Any, prop: str = "") -> int:
        number = len(self.state)
        self.world.variables.append(Var(number, sort, thing, prop))
        self.state.append(value)
        return number

    def thing(
        self,
        name: str,
        kind: str,
        on: tuple[str, str] | None = None,
        at: str = "",
        near: tuple[str, ...] = (),
        title: str = "",
        props: dict[str, Any] | None = None,
        ends: tuple[str, str] | None = None,
    ) -> Thing:
        k = self.kinds[kind]
        thing = Thing(
            len(self.world.things),
            name,
            title or title_of(name),
            k.sort,
            k,
            self.at(),
            near=tuple(self.things[one] for one in near),
        )
        if k.sort == "actor":
            thing.place = self.things[at] if at else None
            thing.place_var = self._var(thing, "place", thing.place)
        if k.sort == "item":
            thing.placed = (Holding(on[0], self.things[on[1]]),) if on else ()
            thing.held_var = self._var(thing, "held", thing.placed)
        if ends:
            thing.from_end, thing.to_end = self.things[ends[0]], self.things[ends[1]]
            thing.from_var = self._var(thing, "from", thing.from_end)
            thing.to_var = self._var(thing, "to", thing.to_end)
        for prop, value in (props or {}).items():
            thing.values[prop] = value
            thing.prop_vars[prop] = self._var(thing, "property", value, prop)
        self.world.things.append(thing)
        self.things[name] = thing
        return thing

    def action(self, pattern: str, takes: Formula | None) -> Action:
        """Upper-case words are slots; ``in/on`` are alternatives."""
        parts, params = [], []
        for word in pattern.split():
            if word.isupper():
                parts.append(Part((), len(params) + 2))
                params.append(Param(word, "thing", (), self.at()))
            else:
                parts.append(Part(tuple(word.split("/")), -1))
        action = Action(pattern, tuple(parts), tuple(params), self.at(), "test", takes=takes)
        self.world.actions.append(action)
        return action

    def excursion(self, name: str, crew: tuple[str, ...], **more: Any) -> Excursion:
        members = tuple(Member(self.things[one], "lead" if i == 0 else None) for i, one in enumerate(crew))
        excursion = Excursion(name, title_of(name), self.at(), "pier", members, **more)
        self.world.excursions.append(excursion)
        self.open = ExcursionFlow(
            excursion, {member.actor: i for i, member in enumerate(members)}, start=list(self.state)
        )
        self.flow.excursions.append(self.open)
        self.last = {}
        return excursion

    def task(self, name: str, rank: str = "required", **more: Any) -> Task:
        assert self.open is not None
        task = Task(name, title_of(name), rank, self.open.excursion, self.at(), **more)
        self.open.excursion.tasks.append(task)
        return task

    def block(self, *doers: str, place: str = "", seat: str = "", riders: tuple[str, ...] = ()) -> Block:
        return Block(
            tuple(self.things[one] for one in doers),
            tuple(self.things[one] for one in riders),
            self.things.get(place),
            self.things.get(seat),
            self.at(),
        )

    def entry(
        self,
        task: Task,
        block: Block,
        cast: tuple[str, ...],
        action: Action | None = None,
        args: tuple[Any, ...] = (),
        text: str = "",
        says: str = "",
        **more: Any,
    ) -> Entry:
        assert self.open is not None
        people = tuple(self.things[one] for one in cast)
        entry = Entry(
            len(self.open.excursion.entries),
            task,
            block,
            people,
            self.at(),
            action,
            (people[0], None, *args),
            text,
            **more,
        )
        if says:
            entry.says = Mark(says, task, entry, entry.at)
            self.open.excursion.marks.append(entry.says)
        task.entries.append(entry)
        self.open.excursion.entries.append(entry)
        return entry

    def step(
        self,
        entry: Entry,
        sets: dict[int, Any] | None = None,
        action: Action | None = None,
        args: tuple[Any, ...] = (),
        cast: tuple[str, ...] = (),
        **more: Any,
    ) -> Step:
        """The entry's own step, or (with an action) an inserted one."""
        flow = self.open
        assert flow is not None
        people = tuple(self.things[one] for one in cast) or entry.cast
        changes = []
        for var, value in (sets or {}).items():
            changes.append(Change(var, self.state[var], value))
            self.state[var] = value
        inserted = action is not None
        step = Step(
            len(flow.steps),
            entry,
            action or entry.action,
            (people[0], None, *args) if inserted else entry.binding,
            people,
            inserted,
            changes=tuple(changes),
            **more,
        )
        before = {self.last[actor] for actor in people if actor in self.last}
        first_of_entry = entry.index not in flow.by_entry
        for wait in entry.waits:
            if first_of_entry or not inserted:
                said = [one for one in flow.steps if one.entry is wait.mark.entry]
                before |= {one.index for one in said if not one.inserted} or {one.index for one in said[-1:]}
        for earlier in entry.task.after:
            before |= {one.index for one in flow.steps if one.entry.task is earlier}
        flow.predecessors.append(tuple(sorted(before)))
        flow.steps.append(step)
        flow.by_entry.setdefault(entry.index, []).append(step)
        for actor in people:
            self.last[actor] = step.index
        flow.end = list(self.state)
        return step

    def checked(self) -> Checked:
        for flow in self.flow.excursions:
            flow.end = flow.end or list(flow.start)
            count_positions(flow)
        return Checked(self.world, self.flow)


def count_positions(flow: ExcursionFlow) -> None:
    """Each step's number in its cast's lists, and the clocks."""
    count = dict.fromkeys(flow.columns.values(), 0)
    for step in flow.steps:
        columns = [flow.columns[actor] for actor in step.cast]
        step.positions = tuple((column, count[column]) for column in columns)
        for column in columns:
            count[column] += 1
    set_clocks(flow)


def minutes(value: int) -> Const:
    return Const(Fraction(value * MINUTE), TIME, f"{value} min")


def crane() -> Checked:
    """Moss runs a crane that carries Wren; Moss also watches a gauge while Wren works."""
    b = Builder("crane")
    b.kind("crew", "actor")
    b.kind("machine", "actor")
    b.kind("deck", "location")
    b.thing("north", "deck")
    b.thing("south", "deck")
    b.thing("wren", "crew", at="north")
    b.thing("moss", "crew", at="north")
    heron = b.thing("heron", "machine", at="north")
    heron.runner = b.things["moss"]
    swing = b.action("swing to PLACE", minutes(5))
    work = b.action("work", minutes(4))
    watch = b.action("watch", minutes(9))
    b.excursion("lift", ("wren", "moss", "heron"))
    task = b.task("all")
    ride = b.entry(task, b.block("heron", place="south", riders=("wren",)), ("heron", "moss"), says="there")
    b.step(ride, {heron.place_var: b.things["south"]}, action=swing, args=(b.things["south"],), cast=("heron", "moss"))
    assert ride.says is not None
    at = b.block("wren", place="south")
    doing = b.entry(task, at, ("wren",), work, (), "work", says="worked", waits=(Wait(ride.says, b.at()),))
    b.step(doing)
    assert doing.says is not None
    watching = b.entry(task, b.block("moss"), ("moss",), watch, (), "watch", beside=(Wait(doing.says, b.at()),))
    b.step(watching)
    flow = b.flow.excursions[0]
    flow.companions.append((2, 1))
    return b.checked()


def pier() -> Checked:
    """Wren unbolts the lamp with a tool from her bag and hands it to Teal, who carries it in."""
    b = Builder()
    suited = b.kind("suited", "actor")
    suited.properties["pace"] = Property("pace", "quantity", (), (), None, None, False, None, suited.decl)
    b.kind("airlock", "location", inside=True, ground=True)
    b.kind("worksite", "location")
    b.kind("seat", "location")
    unit = b.kind("unit", "item")
    unit.properties["bolts"] = Property("bolts", "count", (), (), None, None, True, None, unit.decl)
    bag = b.kind("bag", "item")
    bag.holds = (Hold("pouch", None, None, None, bag.decl),)
    b.kind("tool", "item")
    b.thing("lock", "airlock")
    b.thing("pier-end", "worksite")
    b.thing("lamp-seat", "seat", near=("pier-end",))
    wren = b.thing("wren", "suited", at="lock")
    teal = b.thing("teal", "suited", at="lock")
    kit = b.thing("kit", "bag", on=("clip", "wren"))
    driver = b.thing("driver", "tool", on=("pouch", "kit"))
    spare = b.thing("spare-bag", "bag", on=("rest", "lock"))
    lamp = b.thing("lamp", "unit", on=("bolts", "lamp-seat"), title="Pier lamp, worn", props={"bolts": Fraction(2)})
    lamp.totals["bolts"] = Fraction(2)
    lamp.normal["bolts"] = Fraction(2)
    go = b.action("go to PLACE", RouteLength(()))
    draw = b.action("take ITEM from HOLDER", minutes(1))
    stow = b.action("put ITEM in/on HOLDER", minutes(1))
    undo = b.action("undo bolts of UNIT with TOOL", minutes(6))
    pull = b.action("pull ITEM off HOLDER", None)
    hand = b.action("hand ITEM to OTHER", minutes(2))
    look = b.action("read the gauge of ITEM", minutes(3))

    only = b.excursion(
        "only",
        ("wren", "teal"),
        clock="suit power",
        limit=Measure(Fraction(2 * 3600), TIME, "2 h"),
        reserve=Measure(Fraction(600), TIME, "10 min"),
    )
    t = b.things
    release = b.task("release")
    at_end = b.block("wren", place="pier-end")
    arrive = b.entry(release, at_end, ("wren",))
    b.step(
        arrive,
        {wren.place_var: t["pier-end"]},
        action=go,
        args=(t["pier-end"],),
        route=(t["lock"], t["pier-end"]),
        length=Fraction(240),
    )
    stuck_body = Task("stuck", "The bolts will not turn", "required", only, b.at())
    stuck = Fallback("stuck", "The bolts will not turn", stuck_body, None, (release,), (), stuck_body.decl)
    leave = Entry(
        0,
        stuck_body,
        b.block("wren", place="pier-end"),
        (wren,),
        b.at(),
        stow,
        (wren, None, driver, kit),
        "put driver in kit",
        remarks=(Remark("note", "The lamp stays where it is.", b.at()),),
    )
    stuck_body.entries.append(leave)
    only.fallbacks.append(stuck)
    undoing = b.entry(
        release,
        at_end,
        ("wren",),
        undo,
        (lamp, driver),
        "undo bolts of lamp with driver",
        says="bolts-out",
        duration=Duration(Fraction(14 * MINUTE), Fraction(10 * MINUTE), Fraction(25 * MINUTE)),
        remarks=(Remark("warning", "The glass may be broken: keep your palms off it.", b.at()),),
        because="The seat bends when one side is let go alone.",
        answers=(Answer("a bolt sticks", stuck, b.at()),),
    )
    b.step(undoing, {driver.held_var: (Holding("hand", wren),)}, action=draw, args=(driver, kit))
    b.step(undoing, {lamp.prop_vars["bolts"]: Fraction(0)})
    b.step(undoing, {driver.held_var: (Holding("pouch", kit),)}, action=stow, args=(driver, kit))
    assert undoing.says is not None
    carry = b.task("carry", rank="wanted")
    teals = b.block("teal", place="pier-end")
    come = b.entry(carry, teals, ("teal",), waits=(Wait(undoing.says, b.at()),))
    b.step(come, {teal.place_var: t["pier-end"]}, action=go, args=(t["pier-end"],), length=Fraction(240))
    pulled = b.entry(carry, at_end, ("wren",), pull, (lamp, t["lamp-seat"]), "pull lamp off lamp-seat")
    b.step(pulled, {lamp.held_var: (Holding("hand", wren),)})
    given = b.entry(carry, at_end, ("wren", "teal"), hand, (lamp, teal), "hand lamp to teal")
    b.step(given, {lamp.held_var: (Holding("hand", teal),)})
    reading = b.entry(
        carry,
        teals,
        ("teal",),
        look,
        (lamp,),
        "read the gauge of lamp",
        expect=Expect(Measure(Fraction(210), (), "210"), Measure(Fraction(230), (), "230"), "210 to 230 kPa", b.at()),
    )
    b.step(reading)
    home = b.task("home")
    back = b.entry(home, b.block("teal", place="lock"), ("teal",))
    b.step(back, {teal.place_var: t["lock"]}, action=go, args=(t["lock"],), length=Fraction(240))
    only.left_outside.append(LeftThing(kit, None, b.at()))
    assert spare.sort == "item"
    return b.checked()
