"""What somebody on the way home can do: actions found by what they bring about, and done for a while.

First come the actions that `serve` a literal, as everywhere. Where none of them will do, any action that makes it true
will: nobody stays in a seat because its way out is usually a step of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from jackstay.flow.insert import Inserter, _bind, _bound
from jackstay.flow.laws import Distances, Laws
from jackstay.model.literals import is_under
from jackstay.model.records import Action, Excursion, Quantified, Service, Test, Thing, World
from jackstay.timing.formulas import evaluate
from jackstay.timing.home_judge import NearJudge
from jackstay.timing.home_records import Number, exact
from jackstay.timing.home_watch import Watched

_FILLINGS = 200  # ways to fill an action's slots that are tried
Doers = tuple[Thing, ...]
Held = tuple[Thing, Thing, str | None]  # a thing, what it hangs on, and how (None: in any manner)


class _Roomy(Laws):
    """The general laws but for room: who hurries home passes others where no plan would put them."""

    def _room(self, place: Thing | None, actor: Thing, text: str) -> None:
        pass

    def _book_room(self, actor: Thing, was_at: Thing | None, now_at: Thing | None) -> None:
        pass


class Doing:
    """Actions in the watched state. ``unmet``, ``breaches`` and ``held`` collect why something could not be done:
    needs that did not hold, laws in the way, and what would have to hang elsewhere."""

    def __init__(self, world: World, state: Watched, distances: Distances, excursion: Excursion) -> None:
        self.world = world
        self.state = state
        self.judge = NearJudge(world, state, excursion)
        self.laws = _Roomy(world, state, self.judge, distances)
        self.laws.tell = self._breach
        self.inserter = Inserter(world, state, self.judge, distances)
        self.makers: dict[tuple[str, bool], list[tuple[Action, Service]]] = {}
        for action in world.actions:
            for effect in action.effects:
                key = (effect.test.op, effect.test.negated)
                self.makers.setdefault(key, []).append((action, Service(effect.test, False)))
        self.unmet: dict[Test, tuple[Any, ...]] = {}  # with what filled the action's slots
        self.breaches: dict[str, None] = {}
        self.held: dict[Held, None] = {}
        self.breach = False

    def forget(self) -> None:
        self.unmet, self.breaches, self.held = {}, {}, {}

    # --- finding -----------------------------------------------------------------------------------------------------

    def options(
        self, op: str, negated: bool, a: Thing, b: Thing, doers: Doers, manner: str | None = None, makes: bool = False
    ) -> Iterator[tuple[Action, tuple[Any, ...]]]:
        """Actions, slots filled, whose needs hold now and that serve (``makes``: that make true) a literal. Needs that
        do not hold go to ``unmet``."""
        table = self.makers if makes else self.inserter.services
        for action, service in table.get((op, negated), ()):
            test = service.test
            if bool(action.helped_by) != (len(doers) > 1) or not is_under(doers[0].kind, action.by):
                continue
            if action.helped_by and not is_under(doers[1].kind, action.helped_by):
                continue
            if manner is not None and test.manner is not None and test.manner != manner:
                continue
            binding: list[Any] = [doers[0], doers[1] if len(doers) > 1 else None, *(None for _ in action.params)]
            if not _bind(test.a, a, binding, action) or test.b is None or not _bind(test.b, b, binding, action):
                continue
            for _, filled in zip(range(_FILLINGS), self._fillings(action, binding), strict=False):
                yield action, filled

    def _fillings(self, action: Action, binding: list[Any]) -> Iterator[tuple[Any, ...]]:
        for need in (*action.needs, *action.uses, *action.during):
            if not _bound(need, binding):
                continue
            keep, self.judge.reads = self.judge.reads, []
            holds = self.judge.holds(need, binding)
            self.judge.reads = keep
            if not holds:
                if None not in binding[2:]:
                    self.note_unmet(need, binding)
                return
        free = [i for i, value in enumerate(binding) if i >= 2 and value is None]
        if not free:
            yield tuple(binding)
            return
        for thing in self.inserter._candidates(action, free[0], binding):
            binding[free[0]] = thing
            yield from self._fillings(action, binding)
            binding[free[0]] = None

    def note_unmet(self, need: Test, binding: list[Any]) -> None:
        """Keep a need that does not hold, and what it wants to hang elsewhere."""
        self.unmet.setdefault(need, tuple(binding))
        if need.op != "attached":
            return
        a, b = need.a, need.b
        first = None if isinstance(a, Quantified) else self.judge.term(a, binding)
        second = None if b is None or isinstance(b, Quantified) else self.judge.term(b, binding)
        if isinstance(a, Quantified) and second is not None and (a.quant == "none") != need.negated:
            for thing in self.judge.held_by(second, need.manner):
                if thing.kind.is_a(a.kind):
                    self.held[thing, second, need.manner] = None
        elif first is not None and isinstance(b, Quantified) and (b.quant == "none") != need.negated:
            for held in self.state.held(first) if first.held_var >= 0 else ():
                if held.holder.kind.is_a(b.kind) and need.manner in (None, held.manner):
                    self.held[first, held.holder, need.manner] = None
        elif first is not None and second is not None and need.negated:
            self.held[first, second, need.manner] = None

    # --- doing -------------------------------------------------------------------------------------------------------

    def _breach(self, rule: str, **facts: Any) -> None:
        self.breach = True
        self.breaches[rule] = None
        doer = self.laws.cast[0]
        for value in (facts.get("line"), facts.get("thing")):
            if not isinstance(value, Thing) or value.held_var < 0:
                continue
            if any(one.holder is doer for one in self.state.held(value)):
                self.held[value, doer, None] = None

    def do(self, action: Action, binding: tuple[Any, ...], metres: Number = 0) -> bool:
        """Make the effects true in the watched state, until it is rewound; False, and nothing done, if a general law
        would be broken."""
        laws, state, judge = self.laws, self.state, self.judge
        laws.cast = (*[one for one in binding[:2] if one is not None], *[binding[slot] for slot in action.joined])
        laws.counts, laws.left_seats, laws.moved_seats = [], [], []
        judge.reads, judge.route = [], Fraction(metres)
        state.over.clear()
        self.breach = False
        mark = len(state.trail)
        for effect in action.effects:
            laws.quiet = False
            made = laws.apply(effect, binding)
            if made is not None:
                state.trail.append((made[0], made[1]))
            if self.breach:
                state.rewind(mark)
                return False
        return True

    def seconds(self, action: Action, binding: tuple[Any, ...], metres: Number = 0) -> Number | None:
        """How long it usually takes in the watched state, before it is done. None: nobody says."""
        if action.takes is None:
            return None
        found = evaluate(action.takes, self.state.values, binding, Fraction(metres))
        return None if found is None or found < 0 else exact(found)
