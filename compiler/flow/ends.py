"""The end of an excursion, exactly: what is out, what came home, what stands as it should, what each task promised."""

from __future__ import annotations

from typing import Any

from jackstay.flow.clocks import over_with
from jackstay.flow.order import Order
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.replay import Replay
from jackstay.flow.state import State, is_inside
from jackstay.flow.tests import Judge
from jackstay.model.choreography import last_entries
from jackstay.model.records import Task, Test, Thing, World


class Ends:
    """Checks one excursion's end against what the plan says. Reports into the flow's problems."""

    def __init__(self, world: World, replay: Replay, start: State) -> None:
        self.world = world
        self.flow = replay.flow
        self.excursion = replay.flow.excursion
        self.replay = replay
        self.start = start
        self.end = replay.state
        self.judge = Judge(world, self.end, self.excursion)

    def check(self) -> None:
        done_when = {id(t.a) for task in self.excursion.tasks for t in task.done_when if isinstance(t.a, Thing)}
        left = {left.thing: left for left in self.excursion.left_outside}
        home = {left.thing: left for left in self.excursion.comes_inside}
        for thing in self.world.things:
            if thing.sort == "item":
                self._item(thing, left, home, done_when)
            elif thing.sort == "actor":
                out_before, out_after = self.out(self.start, thing), self.out(self.end, thing)
                if not self._in_doubt(thing) and out_after and not out_before:
                    self._tell("crew-left-outside", self.excursion.decl, thing=thing, where=self.end.location(thing))
        for named in self.excursion.left_outside:
            if self._in_doubt(named.thing):
                continue
            if not self.out(self.end, named.thing):
                self._tell(
                    "not-left-outside",
                    named.at,
                    thing=named.thing,
                    where=self.end.location(named.thing),
                    decl=named.thing.decl,
                )
        for named in self.excursion.comes_inside:
            if self._in_doubt(named.thing):
                continue
            if self.out(self.end, named.thing) or not self.out(self.start, named.thing):
                self._tell(
                    "not-come-inside",
                    named.at,
                    thing=named.thing,
                    where=self.end.location(named.thing),
                    was_out=self.out(self.start, named.thing),
                )
        self._properties()

    def out(self, state: State, thing: Thing) -> bool:
        return is_out(state, thing)

    def _item(self, thing: Thing, left: dict[Thing, Any], home: dict[Thing, Any], done_when: set[int]) -> None:
        before, after = self.out(self.start, thing), self.out(self.end, thing)
        if self._in_doubt(thing) or self._rides_along(thing):
            return
        if after and not before and thing not in left:
            self._tell(
                "left-behind",
                self.excursion.decl,
                thing=thing,
                where=self.end.location(thing),
                holder=self.end.holder_of(thing)[0],
            )
        elif before and not after and thing not in home:
            self._tell("came-inside", self.excursion.decl, thing=thing, where=self.end.location(thing))
        elif before and after and thing not in left and id(thing) not in done_when:
            was = {h.holder for h in self.start.held(thing)}
            now = {h.holder for h in self.end.held(thing)}
            if was != now:
                self._tell(
                    "moved-unsaid",
                    self.excursion.decl,
                    thing=thing,
                    was=self.start.holder_of(thing)[0],
                    holder=self.end.holder_of(thing)[0],
                    where=self.end.location(thing),
                )

    def _in_doubt(self, thing: Thing) -> bool:
        """Whether something already found wrong decides where it is, or where it was at first."""
        if any(var in self.start.doubtful for _, var in self.start.chain(thing)):
            return True
        return any(var in self.end.doubtful for _, var in self.end.chain(thing))

    def _rides_along(self, thing: Thing) -> bool:
        """What was and still is in one bag is where the bag is: the bag is named, or the finding is about the bag."""
        holder = self.end.holder_of(thing)[0]
        return holder is not None and holder.sort == "item" and self.start.holder_of(thing)[0] is holder

    def _properties(self) -> None:
        named: dict[tuple[Thing, str], Any] = {}
        for left in self.excursion.left_so:
            thing = self.judge.term(left.test.a, ())
            if thing is None or left.test.prop is None:
                continue
            named[(thing, left.test.prop)] = left
            if not self.judge.holds(left.test, ()) and thing.prop_vars.get(left.test.prop, -1) not in self.end.doubtful:
                self._tell(
                    "not-left-so",
                    left.at,
                    thing=thing,
                    prop=left.test.prop,
                    text=left.test.text,
                    value=self.end.value(thing, left.test.prop),
                )
        for thing in self.world.things:
            for prop, normal in thing.normal.items():
                var = thing.prop_vars.get(prop, -1)
                if var < 0 or (thing, prop) in named:
                    continue
                before, after = self.start.values[var], self.end.values[var]
                if after != normal and after != before and var not in self.end.doubtful:
                    self._tell(
                        "not-back-to-normal", self.excursion.decl, thing=thing, prop=prop, value=after, normal=normal
                    )

    def _tell(self, rule: str, at: Any, **facts: Any) -> None:
        self.replay._tell(rule, at, flow=self.flow, excursion=self.excursion, **facts)


def is_out(state: State, thing: Thing) -> bool:
    """Whether a thing, or an end of a line, is outside."""
    places = [anchor for anchor, _ in state.anchors(thing) if anchor is not None]
    return any(not is_inside(state.location(p)) for p in places)


def check_done(
    order: Order, replay: Replay, flow: ExcursionFlow, world: World, start: State, dropped: frozenset[Task]
) -> None:
    """``done when``: the values when every step of the task has ended, and that nothing unordered changes them."""
    tasks = [t for t in flow.excursion.tasks if t.done_when and t not in dropped]
    if not tasks:
        return
    for task in tasks:
        lasts = [
            replay.main[order.at[id(e)]]
            for e in last_entries(task)
            if id(e) in order.at and order.at[id(e)] in replay.main
        ]
        if not lasts:
            continue
        moment = max(lasts)
        state = _state_after(flow, start, moment)
        judge = Judge(world, state, flow.excursion)
        steps = [flow.steps[i] for i in lasts]
        over = tuple(map(max, zip(*(over_with(flow, step) for step in steps), strict=True)))
        for test in task.done_when:
            _check_one(task, test, judge, flow, (steps, over), moment, replay)


def _state_after(flow: ExcursionFlow, start: State, index: int) -> State:
    """The state after step ``index`` of the replay, rebuilt from the changes."""
    state = start.copy()
    for step in flow.steps[: index + 1]:
        for change in step.changes:
            state.values[change.var] = change.after
    return state


def _check_one(
    task: Task,
    test: Test,
    judge: Judge,
    flow: ExcursionFlow,
    end: tuple[list[Step], tuple[int, ...]],
    moment: int,
    replay: Replay,
) -> None:
    """end: the task's last steps; for each actor, how many steps have surely ended when they all have."""
    lasts, over = end
    judge.reads = []
    held = judge.holds(test, ())
    reads = set(judge.reads)
    loose: Step | None = None
    for step in flow.steps:
        if not any(change.var in reads for change in step.changes):
            continue
        ended = over[step.positions[0][0]] > step.positions[0][1]
        after = all(step.clock[last.positions[0][0]] > last.positions[0][1] for last in lasts)
        if not ended and not after:
            loose = step
            break
    if loose is not None:
        replay._tell("may-not-be-done", test.at, flow=flow, task=task, test=test, step=loose, last=lasts[-1])
    elif not held and reads.isdisjoint(replay.state.doubtful):
        replay._tell("not-done", test.at, flow=flow, task=task, test=test, moment=moment)


def check_until(world: World, flows: list[ExcursionFlow], states: list[State], report: Any) -> None:
    """What one excursion left ``until X`` must have been taken, or set back, by the end of X."""
    for i, flow in enumerate(flows):
        for left in flow.excursion.left_outside:
            for j in range(i + 1, len(flows)):
                if flows[j].excursion.name != left.until:
                    continue
                if left.thing.held_var in states[i].doubtful | states[j].doubtful:
                    continue
                then, now = states[i].values[left.thing.held_var], states[j].values[left.thing.held_var]
                if then == now and then:
                    report(
                        "stays-past-until",
                        left.at,
                        flow=flows[j],
                        thing=left.thing,
                        until=left.until,
                        by=flows[j].excursion,
                        holder=states[j].holder_of(left.thing)[0],
                    )
        for so in flow.excursion.left_so:
            for j in range(i + 1, len(flows)):
                if flows[j].excursion.name != so.until or not isinstance(so.test.a, Thing):
                    continue
                if Judge(world, states[j]).holds(so.test, ()):
                    report(
                        "stays-past-until",
                        so.at,
                        flow=flows[j],
                        thing=so.test.a,
                        until=so.until,
                        by=flows[j].excursion,
                        holder=None,
                    )
