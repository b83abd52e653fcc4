"""How it came to this: flow facts as numbered events, and where everything was at a given step.

A rule asks for a `Story` at the step that goes wrong, and takes from it the history of what matters there: every event
says who acts and the state it leaves. Steps of earlier excursions belong to the history of a later one.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Any

from jackstay.diagnostics.records import Diagnostic, Event, Fix, Label
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Entry, Holding, Quantified, Test, Thing, World
from jackstay.rules import naming
from jackstay.rules.naming import capital, the
from jackstay.rules.records import Rule
from jackstay.source.record import replaced
from jackstay.source.spans import NOWHERE, Span

_IN_OR_ON = re.compile(r"\b(in|on)\s+([a-z][a-z0-9-]*)")
MOST = 6  # events told of one history; the earliest fall away first


@lru_cache(maxsize=2)
def _used(texts: tuple[str, ...]) -> Counter[tuple[str, str | None]]:
    """How often each of `in` and `on` stands before each word."""
    return Counter((found[1], found[2]) for text in texts for found in _IN_OR_ON.finditer(text))


class Story:
    """The world as it stood before step ``index`` of an excursion's flow (None: at its end; no flow: as written)."""

    def __init__(self, plan: Any, flow: ExcursionFlow | None, index: int | None = None) -> None:
        self.plan = plan
        self.world: World = plan.world
        self.flow = flow
        steps = flow.steps if flow is not None else []
        self.index = len(steps) if index is None else index
        self.state = State(0)
        if flow is None:
            self.state.values = State.written(self.world).values
        else:
            self.state.values = list(flow.start)
            for step in steps[: self.index]:
                for change in step.changes:
                    self.state.values[change.var] = change.after
        self.judge = Judge(self.world, self.state, flow.excursion if flow is not None else None)

    @staticmethod
    def of(plan: Any, facts: dict[str, Any]) -> "Story":
        """The story at ``step`` of ``flow``, or before step number ``step_before``; the written start without them."""
        flow, step = facts.get("flow"), facts.get("step")
        return Story(plan, flow, step.index if step is not None else facts.get("step_before"))

    def bystanders(self, tests: Iterable[Test], binding: naming.Binding) -> list[Label]:
        """Those who would make it hold if they were in the crew, at their declarations."""
        if self.flow is None:
            return []
        found: dict[Thing, None] = {}
        for test in tests:
            for side, term in (("a", test.a), ("b", test.b)):
                other = test.b if side == "a" else test.a
                if not isinstance(term, Quantified) or not term.crew or isinstance(other, Quantified):
                    continue
                for one in self.judge.things_of(term.kind):
                    plain = test._replace(a=one) if side == "a" else test._replace(b=one)
                    if not self.judge.takes_part(one) and self.judge.holds(plain, binding) == (term.quant != "every"):
                        found[one] = None
        name = self.flow.excursion.name
        return [Label(one.decl, f"{the(one)} is not in the crew of {name}: only the crew counts here") for one in found]

    # --- where things are --------------------------------------------------------------------------------------------

    def hangs(self, held: Holding) -> str:
        """``in Wren's hand``, ``on the porch``"""
        holder = held.holder
        if naming.ground(held):
            return f"at {the(holder)}"
        if holder.sort == "actor":
            return f"{self._in_or_on(held.manner, None)} {naming.owner(holder)} {held.manner}"
        return f"{self._in_or_on(None, holder)} {the(holder)}"

    def where(self, thing: Thing) -> str:
        """Where a thing is, as the rest of "it is …"."""
        values = self.state.values
        if thing.sort == "location":
            return f"within reach of {naming.listed(the(p) for p in thing.near)}" if thing.near else f"at {the(thing)}"
        if thing.place_var >= 0:
            place = values[thing.place_var]
            if place is None:
                return "nowhere outside"
            return f"at {the(place)}" if place.sort == "location" else f"in {the(place)}"
        held = self.state.held(thing)
        if held:
            return naming.listed(self.hangs(one) for one in held)
        ends = [end for end in (values[thing.from_var], values[thing.to_var]) if end] if thing.from_var >= 0 else []
        return naming.listed(f"tied to {the(end)}" for end in ends) or "nowhere"

    def place(self, thing: Thing) -> str:
        """The location at last: ``at bay4``."""
        at = self.state.location(thing)
        if at is None:
            return "nowhere outside"
        if at.near and thing is not at:
            return f"{self._in_or_on(None, at)} {the(at)}, {self.where(at)}"
        return self.where(at)

    def whereabouts(self, thing: Thing) -> str:
        """Where it hangs and, unless that says it, where that is."""
        text = self.where(thing)
        below, at = self.state.holder_of(thing)[0], self.state.location(thing)
        if thing.sort == "location" or at is None or below is at:
            return text
        # somebody who carries it can go away with it: never left out
        chain = [node for node, _ in self.state.chain(thing)]
        for inner, outer in pairwise(chain[1:]):
            if outer.sort == "actor" and inner.sort == "item":
                text += "".join(f", {self.hangs(one)}" for one in self.state.held(inner) if one.holder is outer)
        return f"{text}, {self.place(thing)}"

    def _in_or_on(self, manner: str | None, holder: Thing | None) -> str:
        """The word that the plan's own texts use most before this manner or holder."""
        used = _used(tuple(source.text for source in self.plan.sources.values()))
        word = holder.name if holder is not None else manner
        return "in" if used["in", word] > used["on", word] else "on"

    # --- history -----------------------------------------------------------------------------------------------------

    def past(self, variables: Iterable[int], most: int = MOST) -> list[Step]:
        """The last steps before this moment that changed any of the variables, earlier excursions included."""
        wanted = set(variables)
        found: list[Step] = []
        flow, index = self.flow, self.index
        while flow is not None and wanted and len(found) < most:
            for step in reversed(flow.steps[:index]):
                if any(change.var in wanted for change in step.changes):
                    found.append(step)
                    if len(found) == most:
                        break
            flow = self._before(flow)
            index = len(flow.steps) if flow is not None else 0
        return found[::-1]

    def _before(self, flow: ExcursionFlow) -> ExcursionFlow | None:
        previous = flow.excursion.previous
        if previous is None or self.plan.flow is None:
            return None
        return next((one for one in self.plan.flow.excursions if one.excursion is previous), None)

    def lately(self, variables: Iterable[int]) -> list[Step]:
        """For each variable the last step that changed it, in order."""
        found = {id(step): step for var in dict.fromkeys(variables) for step in self.past((var,), 1)}
        order = {id(flow.excursion): n for n, flow in enumerate(self.plan.flow.excursions)} if self.plan.flow else {}
        return sorted(found.values(), key=lambda s: (order.get(id(s.entry.task.excursion), 0), s.index))

    def whole_way(self, *things: Thing) -> list[int]:
        """The variables that say where things are, down to a location."""
        return [var for thing in things for _, var in self.state.chain(thing) if var >= 0]

    def own(self, thing: Thing) -> list[int]:
        """The variables that say what a thing itself hangs on, or where an actor is."""
        return [v for v in (thing.place_var, thing.held_var, thing.from_var, thing.to_var) if v >= 0]

    def tell(self, steps: Sequence[Step], variables: Iterable[int], last: Event | None = None) -> tuple[Event, ...]:
        """Steps as numbered events, each with what it leaves of the variables; then the last."""
        wanted = set(variables)
        events = [event(n, step, self.leaves(step, wanted)) for n, step in enumerate(steps, 1)]
        if last is not None:
            events.append(replaced(last, number=len(events) + 1))
        return tuple(events)

    def leaves(self, step: Step, wanted: set[int]) -> str:
        names = self.world.variables
        told = [
            f"{naming.variable(names[c.var])}: {naming.value_text(names[c.var], c.after)}"
            for c in step.changes
            if c.var in wanted
        ]
        return ", ".join(told)

    def history(self, step: Step, variables: Iterable[int], fails: str, lately: bool = False) -> tuple[Event, ...]:
        """The history of some variables up to a step that fails."""
        wanted = list(dict.fromkeys(variables))
        steps = self.lately(wanted) if lately else self.past(wanted)
        return self.tell(steps[-MOST:], wanted, event(0, step, fails))

    def labels(self, *things: Thing, at: Span = NOWHERE) -> tuple[Label, ...]:
        """Where things are declared, and as what."""
        return tuple(
            Label(thing.decl, f"{the(thing)}, as declared")
            for thing in dict.fromkeys(things)
            if thing.decl.line and thing.decl[:2] != at[:2]
        )


def in_routine(entry: Entry) -> tuple[Label, ...]:
    """Where in a routine it is written, of what is told at the plan's call of it."""
    return (Label(entry.routine_at, "in the routine, here"),) if entry.routine_at is not None else ()


def event(number: int, step: Step, leaves: str = "") -> Event:
    each = tuple(the(one) for one in naming.doers(step.binding))
    return Event(number, naming.who(step.binding), naming.doing(step), leaves, step.entry.at, each)


def acting(step: Step) -> str:
    """``Wren takes pouch from porch``, without the mark of an inserted step."""
    return f"{naming.who(step.binding)} {naming.does(naming.words_of(step), step.binding)}"


def finding(
    rule: Rule,
    message: str,
    at: Span,
    *,
    note: str = "",
    labels: Sequence[Label] = (),
    events: Sequence[Event] = (),
    because: str = "",
    fixes: Sequence[Fix | str] = (),
) -> Diagnostic:
    """A finding of a rule; labels at the very place of the finding, or twice at one place, fall away."""
    kept: dict[Span, Label] = {}
    for label in labels:
        if label.at.line and label.at != at:
            kept.setdefault(label.at, label)
    return Diagnostic(
        rule.name,
        rule.severity,
        capital(message),
        at,
        note,
        tuple(kept.values()),
        tuple(events),
        because,
        tuple(fix if isinstance(fix, Fix) else Fix(fix) for fix in fixes),
    )
