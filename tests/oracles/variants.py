"""Every way in which a plan may be flown otherwise than written: droppable tasks left out, fallbacks begun.

The meaning is that of the language reference, section 9; it shares no code with the compiler:

- a dropped task's steps do nothing but keep their place in the order; with a task goes what says ``with`` it;
- a fallback begins when its caller is over and every other actor has finished some steps that the order allows; from
  each such state its own steps, and then those of the tasks after ``then`` that are not done, come in every timing;
- where tasks have been dropped, a fallback whose caller is not in one of them may begin all the same, without them;
- nobody who was inside at first may be left outside, in any of these.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import chain, combinations

from oracles.brute import OWN, Broken, Fallback, Plan, Step, Values, View, World
from oracles.effects import Performer
from oracles.timings import CLEAN, Timings

Reason = tuple[str, str]  # (which variant, what is wrong)


class Flight(Timings):
    """The timings of one variant. first: the values at the excursion's start; begin: those at this variant's start.
    things: whether things must not be left outside either."""

    def __init__(self, plan: Plan, first: Values, begin: Values, whole: bool, things: bool) -> None:
        super().__init__(plan, whole=whole)
        self.first, self.begin, self.things = first, begin, things
        self.world.start = lambda: dict(begin)  # type: ignore[method-assign]

    def broken(self) -> str:
        self.vars = list(self.begin)
        try:
            self._look(self.begin, {})
        except Broken as reason:
            return f"at its start: {reason}"
        return self.breaks()

    def wrong_end(self, values: Values) -> str:
        for name in (*self.world.actors, *(self.world.items if self.things else ())):
            if not is_out(self.world, values, name) or is_out(self.world, self.first, name):
                continue
            if name in self.plan.out or _in_its_bag(self.world, self.first, values, name):
                continue
            return f"{name} is left outside"
        return ""


def is_out(world: World, values: Values, name: str) -> bool:
    view = View(world, values)
    places = [view.location(anchor) for anchor in view.anchors(name)]
    return any(p is not None and world.things[p].kind == "yard" for p in places)


def _in_its_bag(world: World, first: Values, values: Values, name: str) -> bool:
    held, was = values.get(("held", name)), first.get(("held", name))
    return bool(held and was and held[0][1] == was[0][1] and world.sort(held[0][1]) == "item")


def verdict(plan: Plan, whole: bool = False) -> tuple[str, list[Reason]]:
    """Clean, or what is wrong with which variant; of a plan that does not hold as written nothing else is asked."""
    written = Timings(plan, whole=whole)
    if written.verdict() != CLEAN:
        return "written", [("as written", str(written.reasons[:1]))]
    first = World(plan).start()
    end = state_after(plan, range(len(plan.steps)), None)
    lost = [a for a in written.world.actors if is_out(written.world, end, a) and not is_out(written.world, first, a)]
    if lost:
        return "written", [("as written", f"{lost} left outside")]
    reasons = [("without " + str(sorted(gone)), why) for gone in drops(plan) if (why := _dropped(plan, gone, whole))]
    if reasons:
        return "dropped", reasons
    reasons = [r for f in plan.fallbacks for r in _fallback(plan, f, whole)]
    reasons += [
        (f"without {sorted(gone)}: {which}", why)
        for gone in (drops(plan) if not reasons else ())
        for f in plan.fallbacks
        if plan.steps[f.caller].task not in gone
        for which, why in _fallback(_without(plan, gone), f, whole, gone)
    ]
    return ("fallback", reasons) if reasons else (CLEAN, [])


def settled(plan: Plan) -> Plan:
    """The plan with its end as it is, when all goes as written."""
    world, first = World(plan), World(plan).start()
    end = state_after(plan, range(len(plan.steps)), None)
    out = tuple(n for n in world.items if is_out(world, end, n))
    home = tuple(n for n in world.items if is_out(world, first, n) and not is_out(world, end, n))
    return replace(plan, out=out, home=home)


# --- dropped tasks ---------------------------------------------------------------------------------------------------


def drops(plan: Plan) -> Iterator[frozenset[int]]:
    """Every set of tasks that may be dropped together."""
    tasks = sorted(t for t in plan.ranks if any(s.task == t for s in plan.steps))
    for size in range(1, len(tasks) + 1):
        for chosen in combinations(tasks, size):
            if all(t in chosen for t in tasks if set(plan.along.get(t, ())) & set(chosen)):
                yield frozenset(chosen)


def _dropped(plan: Plan, gone: frozenset[int], whole: bool) -> str:
    first = World(plan).start()
    return Flight(_without(plan, gone), first, first, whole, True).broken()


def _without(plan: Plan, gone: frozenset[int]) -> Plan:
    """The plan with their steps doing nothing."""
    steps = [
        replace(s, action=s.action._replace(needs=(), makes=(), works_on=None)) if s.task in gone else s
        for s in plan.steps
    ]
    return replace(plan, steps=steps, done={t: d for t, d in plan.done.items() if t not in gone})


# --- fallbacks -------------------------------------------------------------------------------------------------------


def past(plan: Plan) -> list[set[int]]:
    """For each step all that the order puts before it."""
    direct = Timings(plan).before
    out: list[set[int]] = [set() for _ in direct]
    grown = True
    while grown:
        grown = False
        for i, before in enumerate(direct):
            more = before.union(*(out[j] for j in before))
            grown, out[i] = grown or more != out[i], more
    return out


def cuts(plan: Plan, caller: int) -> Iterator[frozenset[int]]:
    """The sets of steps that may be over when the caller just is."""
    before = past(plan)
    free = [i for i in range(len(before)) if i != caller and caller not in before[i]]
    for chosen in chain.from_iterable(combinations(free, n) for n in range(len(free) + 1)):
        over = frozenset((*chosen, caller))
        if all(before[i] <= over for i in over):
            yield over


def state_after(plan: Plan, over: frozenset[int] | range, failed: int | None) -> Values:
    """The values when these steps are over; in a plan that holds, any order gives the same."""
    world, before = World(plan), past(plan)
    values = world.start()
    for i in sorted(over, key=lambda i: (len(before[i]), i)):
        if i != failed:
            Performer(world, plan.steps[i], values, (), True).run()
    return values


def _fallback(plan: Plan, fallback: Fallback, whole: bool, gone: frozenset[int] = frozenset()) -> Iterator[Reason]:
    """gone: tasks that have been dropped; their steps do nothing already."""
    first = World(plan).start()
    for over in cuts(plan, fallback.caller):
        begin = state_after(plan, over, fallback.caller if fallback.fails else None)
        numbers = [
            i for t in fallback.then if t not in gone for i, s in enumerate(plan.steps) if s.task == t and i not in over
        ]
        new = {OWN + i: i for i in range(len(fallback.steps))}
        new |= {n: len(fallback.steps) + k for k, n in enumerate(numbers)}
        steps: list[Step] = []
        why = ""
        for step in (*(replace(s, task=-1) for s in fallback.steps), *(plan.steps[i] for i in numbers)):
            missing = [n for n in step.on if n not in new and n not in over and plan.steps[n].task not in gone]
            why = why or (f"nobody says {missing}" if missing else "")
            steps.append(replace(step, on=tuple(new[n] for n in step.on if n in new)))
        rest = replace(plan, steps=steps, done={}, left=())
        why = why or Flight(rest, first, begin, whole, False).broken()
        if why:
            yield f"other{plan.fallbacks.index(fallback)} after {sorted(over)}", why
            return
