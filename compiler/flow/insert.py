"""What every crew does anyway: moves, seats, line changes and tool draws that headings and uses bring along.

An action that ``serves`` a literal may be inserted to bring it about. Which things fill its other slots is searched
among those that satisfy its needs, nearest by declaration first; the choice is part of the plan and is printed.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any, NamedTuple

from jackstay.flow.amounts import summed
from jackstay.flow.laws import Distances
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.literals import is_under
from jackstay.model.records import Action, Path, Quantified, Service, Slot, Term, Test, Thing, World


class Choice(NamedTuple):
    """An action to insert and its binding; missing: the first need that no choice satisfied, if any."""

    action: Action
    binding: tuple[Any, ...]
    missing: Test | None


class Leg(NamedTuple):
    """A stretch of a way on which one line demand holds: the places walked through and its metres."""

    places: tuple[Thing, ...]
    metres: Any
    demand: Path | None  # a path of the stretch that demands a line


class Inserter:
    """Finds actions that serve a literal for given actors in the present state."""

    def __init__(self, world: World, state: State, judge: Judge, distances: Distances) -> None:
        self.world = world
        self.state = state
        self.judge = judge
        self.distances = distances
        self.services: dict[tuple[str, bool], list[tuple[Action, Service]]] = {}
        self.served: dict[tuple[Any, ...], list[tuple[Action, Service]]] = {}  # those for doers of certain kinds
        self.plain: dict[tuple[Any, ...], Choice] = {}  # what was found without a look at the state
        for action in world.actions:
            for service in action.serves:
                self.services.setdefault((service.test.op, service.test.negated), []).append((action, service))

    def find(
        self,
        op: str,
        negated: bool,
        a: Thing,
        b: Thing,
        doers: tuple[Thing, ...],
        manner: str | None = None,
        judged: bool = True,
    ) -> Choice | None:
        """The first action, in order of declaration, that serves ``a op b`` for these doers and whose needs can be met;
        else the first that would but for a need; None if no action serves it at all. Not judged: where only one
        action comes into question, whether its needs are met is left open."""
        key = (op, negated, a, b, doers, manner)
        if not judged and key in self.plain:
            return self.plain[key]
        second: Choice | None = None
        services = self._services(op, negated, doers)
        for action, service in services:
            test = service.test
            if manner is not None and test.manner is not None and test.manner != manner:
                continue
            binding: list[Any] = [doers[0], doers[1] if len(doers) > 1 else None, *(None for _ in action.params)]
            if not _bind(test.a, a, binding, action) or test.b is None or not _bind(test.b, b, binding, action):
                continue
            if not judged and len(services) == 1 and None not in binding[2:]:
                found = self.plain[key] = Choice(action, tuple(binding), None)
                return found
            choice = self.complete(action, binding)
            if choice is not None and choice.missing is None:
                return choice
            second = second or choice
        return second

    def _services(self, op: str, negated: bool, doers: tuple[Thing, ...]) -> list[tuple[Action, Service]]:
        """The actions that serve such a literal and that these doers can do."""
        key = (op, negated, *[doer.kind for doer in doers])
        found = self.served.get(key)
        if found is None:
            found = self.served[key] = [
                (action, service)
                for action, service in self.services.get((op, negated), ())
                if bool(action.helped_by) == (len(doers) > 1)
                and is_under(doers[0].kind, action.by)
                and (not action.helped_by or is_under(doers[1].kind, action.helped_by))
            ]
        return found

    def complete(self, action: Action, binding: list[Any]) -> Choice | None:
        """Fill the free slots with things that satisfy the needs; the first failing need is kept if none do."""
        keep = self.judge.reads
        self.judge.reads = []
        try:
            best: list[Any] = [None, -1, None]
            self._search(action, binding, best)
            if best[2] is None and best[0] is None:
                return None
            return Choice(action, tuple(best[0]), best[2])
        finally:
            self.judge.reads = keep

    def _search(self, action: Action, binding: list[Any], best: list[Any]) -> bool:
        """Depth-first over free slots. best: [binding, needs satisfied, first missing need]."""
        satisfied = 0
        for need in (*action.needs, *action.during):
            if not _bound(need, binding):
                continue
            if not self.judge.holds(need, binding):
                if all(slot is not None for slot in binding[2:]) and satisfied > best[1]:
                    best[:] = [list(binding), satisfied, need]
                return False
            satisfied += 1
        free = [i for i, value in enumerate(binding) if i >= 2 and value is None]
        if not free:
            best[:] = [list(binding), satisfied, None]
            return True
        slot = free[0]
        for thing in self._candidates(action, slot, binding):
            binding[slot] = thing
            if self._search(action, binding, best):
                return True
            binding[slot] = None
        return False

    def _candidates(self, action: Action, slot: int, binding: list[Any]) -> Iterable[Thing]:
        """Things that could fill a slot: by a need that ties it to a bound thing if there is one, else by kind."""
        kinds = action.params[slot - 2].kinds
        for need in action.needs:
            if need.negated or isinstance(need.a, Quantified) or isinstance(need.b, Quantified):
                continue
            a_slot = need.a.index if isinstance(need.a, Slot) else -1
            b_slot = need.b.index if isinstance(need.b, Slot) else -1
            if a_slot == slot and need.op in ("attached", "to", "from"):
                holder = self.judge.term(need.b, binding) if need.b is not None else None
                if holder is not None:
                    on = self.state.aboard if need.op == "attached" else self.state.ends_on
                    found = sorted(on.get(holder.index, ()), key=lambda t: t.index)
                    return [t for t in found if is_under(t.kind, kinds)]
            if b_slot == slot and need.op == "attached":
                thing = self.judge.term(need.a, binding)
                if thing is not None and thing.held_var >= 0:
                    return [h.holder for h in self.state.held(thing) if is_under(h.holder.kind, kinds)]
        return [t for kind in kinds for t in self.judge.things_of(kind) if self.judge.takes_part(t)]

    def line_for(self, path: Path, actor: Thing) -> tuple[bool, Choice | None, list[Thing]]:
        """Whether the actor is on a line that this path demands; else the change of line to insert, and the lines there
        are (to tell why none will do)."""
        assert path.line_kind is not None
        lines = [
            t
            for t in self.judge.things_of(path.line_kind)
            if t.from_var >= 0 and self.state.values[t.from_var] is path.line_place
        ]
        if any(self.state.values[line.to_var] is actor for line in lines):
            return True, None, lines
        second: Choice | None = None
        for line in lines:
            choice = self.find("to", False, line, actor, (actor,))
            if choice is not None and choice.missing is None:
                return False, choice, lines
            second = second or choice
        return False, second, lines

    def way(self, start: Thing, goal: Thing) -> list[Leg] | None:
        """The shortest way, cut where the demanded line changes; None if there is none."""
        key = (start.index, goal.index)
        if key not in self.distances.ways:
            self.distances.ways[key] = self._way(start, goal)
        found: list[Leg] | None = self.distances.ways[key]
        return found

    def _way(self, start: Thing, goal: Thing) -> list[Leg] | None:
        for first in (start, *start.near):
            ways = self.distances.from_place(first)
            if goal.index in ways:
                break
        else:
            return None
        steps: list[tuple[Thing, Any]] = []
        at: Thing | None = goal
        while at is not None and at is not first:
            _, path, before = ways[at.index]
            steps.append((at, path))
            at = before
        steps.reverse()
        legs: list[Leg] = []
        here = first
        for _, stretch in groupby(steps, lambda step: (step[1].line_kind, step[1].line_place)):
            passed = list(stretch)
            metres = summed([path.length.value for _, path in passed])
            legs.append(Leg((here, *[place for place, _ in passed]), metres, passed[0][1]))
            here = passed[-1][0]
        return legs


def _bind(term: Term, thing: Thing, binding: list[Any], action: Action) -> bool:
    if isinstance(term, Slot):
        if binding[term.index] is None:
            if term.index >= 2 and not is_under(thing.kind, action.params[term.index - 2].kinds):
                return False
            binding[term.index] = thing
            return True
        return binding[term.index] is thing
    return term is thing


def _bound(test: Test, binding: list[Any]) -> bool:
    """Whether every slot of a test has its thing."""
    return all(not (isinstance(term, Slot) and binding[term.index] is None) for term in (test.a, test.b, test.value))
