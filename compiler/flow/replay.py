"""One replay of an excursion in a proven order: every step as it is really done, inserted ones included.

By the theorem of `races`, when no two steps that touch one variable are unordered, what this replay finds holds under
any timing.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.choices import Choosing, choose
from jackstay.flow.insert import Choice, Inserter
from jackstay.flow.laws import Distances, Laws
from jackstay.flow.order import Order
from jackstay.flow.records import Change, ExcursionFlow, Step
from jackstay.flow.state import State, is_at
from jackstay.flow.tests import Judge
from jackstay.model.records import Action, AnyOf, Effect, Entry, Excursion, Quantified, Task, Test, Thing, World
from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.flow.standing import Standing

Count = tuple[Thing, Any, Thing, Fraction]

_ZERO = Fraction(0)
_NEED_RULES = {
    "attached": "not-where-needed",
    "reach": "out-of-reach",
    "located": "out-of-reach",
    "from": "line-not-there",
    "to": "line-not-there",
    "is": "wrong-state",
    "least": "wrong-state",
    "most": "wrong-state",
}


def need_rule(test: Test) -> str:
    """The rule under which an unmet need is told, by what it speaks of."""
    if isinstance(test.a, Quantified) or isinstance(test.b, Quantified):
        return "need-not-met"
    return _NEED_RULES.get(test.op, "need-not-met")


class Replay:
    """Replays one excursion from a state, which it changes. ``counts[i]`` are step i's changes to counted holders."""

    laws_type = Laws

    def __init__(
        self,
        world: World,
        excursion: Excursion,
        order: Order,
        state: State,
        distances: Distances,
        dropped: frozenset[Task] = frozenset(),
    ) -> None:
        self.world = world
        self.dropped = dropped
        self.order = order
        self.state = state
        self.judge = Judge(world, state, excursion)
        self.laws = self.laws_type(world, state, self.judge, distances)
        self.inserter = Inserter(world, state, self.judge, distances)
        columns: dict[Thing, int] = {}
        for entry in order.entries:
            for actor in entry.cast:
                columns.setdefault(actor, len(columns))
        self.flow = ExcursionFlow(excursion, columns)
        self.flow.start = list(state.values)
        self.counts: list[list[Count]] = []
        self.count_problems: list[tuple[int, Problem]] = []
        self.astray: list[tuple[Step, Thing, list[Thing]]] = []  # see `Laws.astray`
        self.choices: list[Choosing] = []
        self.last: list[int] = [-1] * len(columns)  # each column's last step
        self.positions = [0] * len(columns)
        self.main: dict[int, int] = {}  # entry position -> the step whose end its mark names
        self.drawn: dict[Thing, tuple[str, Thing]] = {}  # a drawn tool -> how and where it goes back
        self.needs: dict[Action, list[tuple[Test, bool]]] = {}  # see `_needs_of`
        self.quantified: list[tuple[Step, Test]] = []
        self.standing: Standing | None = None  # what `standing` has made of it, where any rule stands
        self.failed: set[int] = set()  # steps found wrong, or following from one
        self.doubted_since: dict[int, int] = {}  # variable -> the step that first put it in doubt
        self.failed_reads: list[tuple[Problem, Step, tuple[int, ...]]] = []
        self.sweeps = False  # whether a step changes everything on something
        self.laws.tell = self._law
        self.step: Step  # the one at work

    def run(self) -> ExcursionFlow:
        for i in self.order.sequence:
            self._entry(i, self.order.entries[i])
        self.flow.end = list(self.state.values)
        if self.sweeps:
            from jackstay.flow.spreads import read_who_comes_aboard

            read_who_comes_aboard(self.world, self.flow)
        return self.flow

    # --- entries -----------------------------------------------------------------------------------------------------

    def _entry(self, i: int, entry: Entry) -> None:
        before = len(self.flow.steps)
        into = self.order.into[i]
        self.waits = [self.main[e.before] for e in into if e.why != "own" and e.before in self.main] if into else []
        self.first = True
        if entry.action is None or entry.task in self.dropped:
            if not entry.hole and entry.task not in self.dropped:
                self._arrive(entry)
            if len(self.flow.steps) == before and (
                self.waits
                or entry.says
                or entry.beside
                or entry.hole
                or entry.duration
                or self.order.beside[i]
                or i in self.order._inner
                or entry.task in self.dropped
            ):
                self._do(entry, None, entry.binding, entry.cast)
            if len(self.flow.steps) > before:
                self.main[i] = len(self.flow.steps) - 1
            elif self.last[self.flow.columns[entry.cast[0]]] >= 0:
                self.main[i] = self.last[self.flow.columns[entry.cast[0]]]
        else:
            self._written(i, entry)
        for m in self.order.beside[i]:
            self.flow.companions += [
                (s, m) for s in range(before, len(self.flow.steps))
            ]  # m: an entry position, see below
        self.flow.by_entry[entry.index] = self.flow.steps[before:]

    def _written(self, i: int, entry: Entry) -> None:
        action = entry.action
        assert action is not None
        binding = self._choose(action, entry)
        for test in action.uses:
            self._draw(entry, test, binding)
        step = self._do(entry, action, binding, entry.cast)
        self.main[i] = step.index
        for test in action.uses:
            self._stow(i, entry, test, binding)

    def _choose(self, action: Action, entry: Entry) -> tuple[Any, ...]:
        """``any pouch``: the first member, in order of declaration, that satisfies the needs, else the first."""
        if AnyOf not in map(type, entry.binding):
            return entry.binding
        chosen, reads = choose(self.judge, action, entry.binding)
        self.choices.append(Choosing(entry, len(self.flow.steps), chosen, reads))
        return chosen

    def _tell(self, rule: str, at: Span, /, **facts: Any) -> Problem:
        problem = Problem(rule, at, facts)
        self.flow.problems.append(problem)
        return problem

    # --- one step ----------------------------------------------------------------------------------------------------

    def _do(
        self,
        entry: Entry,
        action: Action | None,
        binding: tuple[Any, ...],
        cast: tuple[Thing, ...],
        inserted: bool = False,
        why: str = "",
        route: tuple[Thing, ...] = (),
        length: Fraction = _ZERO,
    ) -> Step:
        steps, columns, last = self.flow.steps, self.flow.columns, self.last
        index = len(steps)
        step = Step(index, entry, action, binding, cast, inserted, why, route, length)
        before = []
        places = []
        for actor in cast:
            column = columns[actor]
            if last[column] >= 0:
                before.append(last[column])
            places.append((column, self.positions[column]))
            self.positions[column] += 1
            last[column] = index
        if self.first:
            before += self.waits
            self.first = False
        step.positions = tuple(places)
        self.flow.predecessors.append(tuple(dict.fromkeys(before)) if len(before) > 1 else tuple(before))
        steps.append(step)
        if action is None:
            self.counts.append([])
            return step
        self._perform(step, action, binding, cast)
        return step

    def _perform(self, step: Step, action: Action, binding: tuple[Any, ...], cast: tuple[Thing, ...]) -> None:
        judge, laws = self.judge, self.laws
        judge.reads = []
        judge.route = step.length
        laws.cast = cast
        laws.quiet = False
        laws.counts, laws.left_seats, laws.moved_seats = [], [], []
        laws.astray = []
        self.step = step
        for test, quantified in self._needs_of(action):
            keep = len(judge.reads)
            held = judge.holds(test, binding)
            if quantified:
                # what a whole kind does is decided by stays, not by the variables of each
                self.quantified.append((step, test))
                if held:
                    del judge.reads[keep:]
            if not held:
                self._unmet(step, test, binding, tuple(judge.reads[keep:]))
        if not step.inserted and self._moves(action):
            from jackstay.flow.moves import check_moves

            check_moves(self, step, action, binding)
        failed, keep = laws.quiet, len(judge.reads)
        changes: dict[int, Change] = {}
        for written in action.effects:
            for effect in (written,) if written.test.aboard is None else self._each_aboard(written, binding):
                made = laws.apply(effect, binding)  # of a failed step too, silently: as if it had succeeded
                if made is not None:
                    var, value, after = made
                    changes[var] = Change(var, changes[var].before if var in changes else value, after)
        if self.world.spreads:
            from jackstay.flow.spreads import close_after  # most plans have nothing that spreads

            close_after(self, step, changes)
        for test in action.during:
            if not laws.quiet and not judge.holds(test, binding):
                self._tell(need_rule(test), step.entry.at, flow=self.flow, step=step, test=test)
                laws.quiet = True
        if failed:
            del judge.reads[keep:]
        read = dict.fromkeys(judge.reads)
        read.pop(-1, None)
        step.reads = tuple(read)
        step.changes = tuple(changes.values())
        step.left_seats, step.moved_seats = tuple(laws.left_seats), tuple(laws.moved_seats)
        self.counts.append(laws.counts)
        if laws.astray:
            self.astray += [(step, thing, nodes) for thing, nodes in laws.astray]
        if laws.quiet:
            self.failed.add(step.index)
            self._doubt(v for e in action.effects for v in self._target(e.test, binding))
        elif self.state.doubtful:
            self.state.doubtful -= changes.keys()

    def _moves(self, action: Action) -> bool:
        """Whether an action says where somebody is then."""
        return any(effect.test.op == "located" for effect in action.effects)

    def _each_aboard(self, effect: Effect, binding: tuple[Any, ...]) -> list[Effect]:
        """``PROP of everything of KIND on X is V``, for each thing that hangs there now."""
        from jackstay.flow.spreads import aboard_effects

        self.sweeps = True
        return aboard_effects(self, effect, binding)

    def _needs_of(self, action: Action) -> list[tuple[Test, bool]]:
        """All that must hold for an action, and whether each speaks of a whole kind; worked out once for each."""
        found = self.needs.get(action)
        if found is None:
            found = self.needs[action] = [
                (test, type(test.a) is Quantified or type(test.b) is Quantified)
                for test in (*action.needs, *action.uses, *action.during)
            ]
        return found

    def _unmet(self, step: Step, test: Test, binding: tuple[Any, ...], reads: tuple[int, ...]) -> None:
        """reads: what it was seen from; of a need about a whole kind only what things make it fail counts."""
        laws = self.laws
        if type(test.a) is Quantified or type(test.b) is Quantified:
            reads = self._culprits(test, binding)
        if not laws.quiet and self.state.doubtful.isdisjoint(reads):
            problem = self._tell(need_rule(test), step.entry.at, flow=self.flow, step=step, test=test)
            self.failed_reads.append((problem, step, reads))
        laws.quiet = True
        variables = self.world.variables
        self._doubt(v for v in reads if variables[v].sort != "place")

    def _culprits(self, test: Test, binding: tuple[Any, ...]) -> tuple[int, ...]:
        """The variables of those things that make a quantified need fail."""
        judge = self.judge
        quant = test.a if isinstance(test.a, Quantified) else test.b
        assert isinstance(quant, Quantified)
        out: list[int] = []
        for thing in judge.among(quant):
            plain = test._replace(a=thing) if quant is test.a else test._replace(b=thing)
            if isinstance(plain.a, Quantified) or isinstance(plain.b, Quantified):
                continue
            judge.reads = []
            if judge.holds(plain, binding) == (quant.quant == "none"):
                out += judge.reads
        return tuple(dict.fromkeys(v for v in out if v >= 0))

    def _doubt(self, variables: Iterable[int]) -> None:
        for var in variables:
            self.state.doubtful.add(var)
            self.doubted_since.setdefault(var, len(self.flow.steps) - 1)

    def _target(self, test: Test, binding: tuple[Any, ...]) -> list[int]:
        """The variable that an effect writes."""
        thing = self.judge.term(test.a, binding)
        if thing is None:
            return []
        if test.op == "is":
            var = thing.prop_vars.get(test.prop or "", -1)
        elif test.op in ("from", "to"):
            var = thing.from_var if test.op == "from" else thing.to_var
        else:
            var = thing.place_var if thing.place_var >= 0 else thing.held_var
        return [var] if var >= 0 else []

    def _law(self, rule: str, **facts: Any) -> None:
        step = self.step
        if not self.state.doubtful.isdisjoint(self.judge.reads) or self._in_doubt(facts):
            return
        problem = self._tell(rule, step.entry.at, flow=self.flow, step=step, **facts)
        if rule in ("holder-full", "too-much", "crowded"):
            self.count_problems.append((step.index, problem))
        else:
            self.failed_reads.append((problem, step, tuple(self.judge.reads)))

    def _in_doubt(self, facts: dict[str, Any]) -> bool:
        """Whether a breach speaks of something that an earlier failed step left in doubt."""
        doubtful = self.state.doubtful
        if not doubtful:
            return False
        things = [v for v in facts.values() if isinstance(v, Thing)]
        for group in (facts.get("things"), facts.get("actors")):
            things += group or ()
        return any(var in doubtful for t in things for var in (t.held_var, t.place_var, t.from_var, t.to_var))

    # --- inserted steps ----------------------------------------------------------------------------------------------

    def _insert(
        self,
        entry: Entry,
        choice: Choice,
        cast: tuple[Thing, ...],
        why: str,
        route: tuple[Thing, ...] = (),
        length: Fraction = _ZERO,
    ) -> None:
        self._do(entry, choice.action, choice.binding, cast, True, why, route, length)

    def _draw(self, entry: Entry, test: Test, binding: tuple[Any, ...]) -> None:
        """A used thing that is not where the use wants it: an action that serves that is inserted before."""
        judge = self.judge
        keep, judge.reads = judge.reads, []
        held = judge.holds(test, binding)
        tool, holder = judge.term(test.a, binding), judge.term(test.b, binding) if test.b else None
        judge.reads = keep
        if held or tool is None or holder is None or tool.held_var < 0 or test.op != "attached":
            return
        before = self.state.held(tool)
        doer = binding[0]
        choice = self.inserter.find("attached", False, tool, holder, (doer,), test.manner)
        if choice is None or choice.missing is not None or not before:
            return  # the use itself will fail, and tells where the tool is
        self._insert(entry, choice, self._alone(entry, doer), test.text)
        self.drawn[tool] = (before[0].manner, before[0].holder)

    def _stow(self, i: int, entry: Entry, test: Test, binding: tuple[Any, ...]) -> None:
        tool = self.judge.term(test.a, binding)
        if tool is None or tool not in self.drawn:
            return
        doer = binding[0]
        after = self.order.entries[i + 1] if i + 1 < len(self.order.entries) else None
        if (
            after is not None
            and after.block is entry.block
            and after.action is not None
            and any(
                self.judge.term(t.a, after.binding) is tool
                for t in after.action.uses
                if not isinstance(t.a, Quantified)
            )
        ):
            return  # the next step of the block uses it too: it stays in hand
        manner, home = self.drawn.pop(tool)
        if any(h.holder is home and h.manner == manner for h in self.state.held(tool)):
            return
        choice = self.inserter.find("attached", False, tool, home, (doer,), manner)
        if choice is not None:
            self._insert(entry, choice, self._alone(entry, doer), f"{tool.name} back to {home.name}")

    def _alone(self, entry: Entry, doer: Thing) -> tuple[Thing, ...]:
        return (doer,) if doer.runner is None else (doer, doer.runner)

    # --- arrivals ----------------------------------------------------------------------------------------------------

    def _arrive(self, entry: Entry) -> None:
        """Bring the doer of a heading where it says. One that cannot be brought is in doubt from here on."""
        actor = entry.binding[0]
        assert isinstance(actor, Thing)
        told = len(self.flow.problems)
        doubtful = actor.place_var in self.state.doubtful
        self._bring(entry, actor)
        if len(self.flow.problems) > told:
            if doubtful:
                del self.flow.problems[told:]
            self._as_if_there(entry, actor)

    def _as_if_there(self, entry: Entry, actor: Thing) -> None:
        """After a heading that cannot be followed: on with the plan as if it had been, and with doubts."""
        goal = entry.block.seat or entry.block.place
        if goal is not None and not any(node is actor for node, _ in self.state.chain(goal)):
            self.state.set_place(actor, goal)
        lines = self.state.ends_on.get(actor.index, {})
        self._doubt([actor.place_var, *(v for line in lines for v in (line.from_var, line.to_var))])

    def _bring(self, entry: Entry, actor: Thing) -> None:
        block = entry.block
        place, seat = block.place, block.seat
        state = self.state
        where = state.location(actor)
        at_place = place is None or is_at(where, place)
        seated_right = seat is None or state.values[actor.place_var] is seat
        if at_place and seated_right:
            return
        if (
            seat is not None
            and place is not None
            and not state.at_place(seat, place)
            and not self._carries(actor, seat)
        ):
            self._tell(
                "seat-elsewhere",
                entry.place_of(block.seat_at),
                flow=self.flow,
                entry=entry,
                actor=actor,
                seat=seat,
                place=place,
                seat_place=state.location(seat),
                step_before=len(self.flow.steps),
            )
            return
        before = len(self.flow.steps)
        if not self._leave_seat(entry, actor):
            return
        if before != len(self.flow.steps):
            where = state.location(actor)
        if not (place is None or is_at(where, place)) and not self._go(entry, actor, place, where):
            return
        if seat is not None and state.values[actor.place_var] is not seat:
            choice = self.inserter.find("attached", False, actor, seat, (actor,))
            if choice is None:
                self._tell(
                    "cannot-sit",
                    entry.place_of(block.seat_at),
                    flow=self.flow,
                    entry=entry,
                    actor=actor,
                    seat=seat,
                    step_before=len(self.flow.steps),
                )
            else:
                self._insert(entry, choice, self._alone(entry, actor), f"in {seat.name}")

    def _carries(self, actor: Thing, seat: Thing) -> bool:
        return any(node is actor for node, _ in self.state.chain(seat))

    def _leave_seat(self, entry: Entry, actor: Thing) -> bool:
        seat = self.state.values[actor.place_var]
        if seat is None or seat.sort == "location":
            return True
        choice = self.inserter.find("attached", True, actor, seat, (actor,))
        if choice is None:
            self._tell(
                "seated-elsewhere",
                entry.block.at,
                flow=self.flow,
                entry=entry,
                actor=actor,
                seat=seat,
                step_before=len(self.flow.steps),
            )
            return False
        self._insert(entry, choice, self._alone(entry, actor), f"out of {seat.name}")
        return True

    def _no_way(self, entry: Entry, actor: Thing, place: Thing, start: Thing | None) -> bool:
        self._tell(
            "no-way",
            entry.place_of(entry.block.place_at),
            flow=self.flow,
            entry=entry,
            actor=actor,
            place=place,
            start=start,
            step_before=len(self.flow.steps),
        )
        return False

    def _go(self, entry: Entry, actor: Thing, place: Thing, start: Thing | None) -> bool:
        doers = tuple([t for t in entry.binding[:2] if isinstance(t, Thing)])
        if actor.reaches or start is None:
            choice = self.inserter.find("located", False, actor, place, doers)
            if choice is None or start is None:
                return self._no_way(entry, actor, place, start)
            self._insert(entry, choice, entry.cast, f"at {place.name}", (start, place))
            return True
        legs = self.inserter.way(start, place)
        choice = self.inserter.find("located", False, actor, place, doers, judged=False)
        if legs is None or choice is None:
            return self._no_way(entry, actor, place, start)
        for leg in legs:
            if leg.demand is not None and leg.demand.line_kind is not None:
                on_it, change, lines = self.inserter.line_for(leg.demand, actor)
                if not on_it:
                    if change is None or change.missing is not None:
                        self._tell(
                            "no-line-for-path",
                            entry.place_of(entry.block.place_at),
                            flow=self.flow,
                            entry=entry,
                            actor=actor,
                            path=leg.demand,
                            lines=lines,
                            choice=change,
                            start=leg.places[0],
                            step_before=len(self.flow.steps),
                        )
                        return False
                    self._insert(entry, change, self._alone(entry, actor), f"the path to {leg.places[1].name}")
            goal = leg.places[-1]
            if len(legs) > 1 or (leg.demand is not None and leg.demand.line_kind is not None):
                choice = self.inserter.find("located", False, actor, goal, doers, judged=False)
                if choice is None:
                    return False
            self._insert(entry, choice, self._alone(entry, actor), f"at {goal.name}", leg.places, leg.metres)
        return True
