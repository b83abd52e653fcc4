"""What spreads by touch: effects that a step has beside its own, wherever it leaves the conditions of a spread true.

A state is closed when every spread whose conditions hold has been made. The plan starts closed, and each step closes
again what it has opened: it looks at every choice of things that has to do with what it changed, before or after. All
that is looked at counts as read, whether or not it came to anything. So two steps of which one decides what the other
spreads touch a variable in common, and `races` sees them. Each spread is made once a step for each choice of things, so
spreads that undo one another come to an end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from jackstay.flow.records import Change, ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Effect, Slot, Spread, Term, Test, Thing, World

if TYPE_CHECKING:
    from jackstay.flow.replay import Replay

Pair = tuple[Thing, Thing]
Choice = list[Any]


class Spreading:
    """Closes a state. worked: who works on what just now."""

    def __init__(self, world: World, judge: Judge) -> None:
        self.world = world
        self.judge = judge
        self.worked: list[Pair] = []

    def close(self, opened: dict[Thing, tuple[Thing, ...]]) -> dict[int, Change]:
        """opened: things of which something has changed, each with what it hung on before. Changes the judge's state;
        adds to its reads."""
        judge, state = self.judge, self.judge.state
        keep, judge.working = judge.working, self.worked
        changes: dict[int, Change] = {}
        made: set[tuple[int, tuple[int, ...]]] = set()
        before = dict(opened)
        queue = list(opened)
        for thing in queue:
            for number, spread in enumerate(self.world.spreads):
                for choice in self._choices(spread, thing, before):
                    key = (number, tuple(one.index for one in choice))
                    if key in made or len({one.index for one in choice}) < len(choice):
                        continue
                    true = True
                    for test in spread.tests:  # every one is looked at, so that whatever decides is read
                        true = judge.holds(test, choice) and true
                    if not true:
                        continue
                    made.add(key)
                    for effect in spread.effects:
                        target = judge.term(effect.a, choice)
                        var = target.prop_vars.get(effect.prop or "", -1) if target is not None else -1
                        if target is None or var < 0 or effect.value is None:
                            continue
                        value, old = judge.formula(effect.value, choice), state.values[var]
                        judge.reads.append(var)
                        if value != old:
                            changes[var] = Change(var, changes[var].before if var in changes else old, value)
                            state.values[var] = value
                            before.setdefault(target, ())
                            queue.append(target)
        judge.working = keep
        return changes

    def _choices(self, spread: Spread, thing: Thing, before: dict[Thing, tuple[Thing, ...]]) -> Iterator[Choice]:
        """The things for a spread's slots with this one among them."""
        for slot in spread.slots:
            if any(thing.kind.is_a(kind) for kind in slot.kinds):
                choice: Choice = [None] * len(spread.slots)
                choice[slot.index] = thing
                yield from self._filled(spread, choice, before)
        if not spread.slots or any(t is thing for test in spread.tests for t in (test.a, test.b)):
            yield from self._filled(spread, [None] * len(spread.slots), before)

    def _filled(self, spread: Spread, choice: Choice, before: dict[Thing, tuple[Thing, ...]]) -> Iterator[Choice]:
        """Slot by slot, those that a literal ties to what has been chosen first."""
        open_slots = [slot for slot in spread.slots if choice[slot.index] is None]
        if not open_slots:
            yield list(choice)
            return
        slot, among = open_slots[0], None
        for one in open_slots:
            tied = self._tied(spread, one, choice, before)
            if tied is not None:
                slot, among = one, tied
                break
        if among is None:
            among = [t for kind in slot.kinds for t in self.judge.things_of(kind)]
        for thing in dict.fromkeys(among):
            if any(thing.kind.is_a(kind) for kind in slot.kinds):
                choice[slot.index] = thing
                yield from self._filled(spread, choice, before)
        choice[slot.index] = None

    def _tied(
        self, spread: Spread, slot: Slot, choice: Choice, before: dict[Thing, tuple[Thing, ...]]
    ) -> list[Thing] | None:
        """The things that some literal ties to what has been chosen; None if no literal does."""

        def chosen(term: Term | None) -> Thing | None:
            return choice[term.index] if isinstance(term, Slot) else term if isinstance(term, Thing) else None

        for test in spread.tests:
            if test.negated or test.op not in ("attached", "working"):
                continue
            a, b = chosen(test.a), chosen(test.b)
            if test.op == "working":
                if a is not None and test.b == slot:
                    return [on for who, on in self.worked if who is a]
                if b is not None and test.a == slot:
                    return [who for who, on in self.worked if on is b]
            elif a is not None and test.b == slot:
                return [*_hangs_on(self.judge.state, a), *before.get(a, ())]
            elif b is not None and test.a == slot:
                left = [thing for thing, holders in before.items() if b in holders]
                ends = self.judge.state.ends_on.get(b.index, {})
                return [*self.judge.state.aboard.get(b.index, {}), *ends, *left]
        return None


def _hangs_on(state: State, thing: Thing) -> list[Thing]:
    return [anchor for anchor, _ in state.anchors(thing) if anchor is not None] if thing.sort != "location" else []


def _things(value: Any) -> Iterable[Thing]:
    """The things in a variable's value: a place, an end, what it hangs on."""
    if isinstance(value, Thing):
        return (value,)
    return [holding.holder for holding in value] if isinstance(value, tuple) else ()


def closed(world: World, state: State) -> State:
    """The state with all that spreads in it from the start."""
    if world.spreads:
        Spreading(world, Judge(world, state)).close(dict.fromkeys(world.things, ()))
    return state


def close_after(replay: Replay, step: Step, changes: dict[int, Change]) -> None:
    """What a step spreads beside its own effects, added to its changes."""
    judge = replay.judge
    spreading = Spreading(replay.world, judge)
    if step.action is not None:
        on = [judge.term(term, step.binding) for term in step.action.works_on]
        doers = [one for one in step.binding[:2] if isinstance(one, Thing)]
        spreading.worked = [(doer, thing) for doer in doers for thing in on if thing is not None]
    opened: dict[Thing, tuple[Thing, ...]] = {}
    for var, before, _ in changes.values():
        thing = replay.world.variables[var].thing
        opened[thing] = (*opened.get(thing, ()), *_things(before))
    for pair in spreading.worked:
        for thing in pair:
            opened.setdefault(thing, ())
    if not opened:
        return
    doubtful = replay.state.doubtful
    reads = len(judge.reads)
    for var, change in spreading.close(opened).items():
        changes[var] = change._replace(before=changes[var].before) if var in changes else change
        if doubtful and not doubtful.isdisjoint(judge.reads[reads:]):
            replay._doubt([var])


def aboard_effects(replay: Replay, effect: Effect, binding: tuple[Any, ...]) -> list[Effect]:
    """``PROP of everything of KIND on X is V`` as an effect for each thing, and for X itself if it is of the kind."""
    test = effect.test
    holder = replay.judge.term(test.aboard, binding) if test.aboard is not None else None
    if holder is None:
        return []
    found = [thing for thing in _aboard(replay.state, holder) if _meant(test, thing)]
    replay.judge.reads += [var for thing in found for var in _ways(thing)]
    return [Effect(test._replace(a=thing, aboard=None), effect.from_afar) for thing in found]


def _aboard(state: State, holder: Thing) -> list[Thing]:
    """All that hangs on it at any depth, by attachments or by a line's end."""
    found = [*state.everything_aboard(holder), *state.ends_on.get(holder.index, {})]
    return list(dict.fromkeys(found))


def _meant(test: Test, thing: Thing) -> bool:
    return not isinstance(test.a, (Slot, Thing)) and thing.kind.is_a(test.a.kind)  # type: ignore[union-attr]


def _ways(thing: Thing) -> list[int]:
    return [var for var in (thing.place_var, thing.held_var, thing.from_var, thing.to_var) if var >= 0]


def read_who_comes_aboard(world: World, flow: ExcursionFlow) -> None:
    """A step that changes everything on something goes by what may come aboard of it too: whatever is ever aboard in
    this excursion counts as read, so that nobody puts it there in no order."""
    meant: list[tuple[Step, Test, Thing]] = []
    judge = Judge(world, State(0))
    for step in flow.steps:
        for effect in step.action.effects if step.action is not None else ():
            if effect.test.aboard is not None:
                holder = judge.term(effect.test.aboard, step.binding)
                if holder is not None:
                    meant.append((step, effect.test, holder))
    if not meant:
        return
    state = State(len(world.variables))
    for variable, value in zip(world.variables, flow.start, strict=True):
        state.put(variable, value)
    ever: list[dict[int, None]] = [{} for _ in meant]

    def look() -> None:
        for (_, test, holder), seen in zip(meant, ever, strict=True):
            seen.update((var, None) for thing in _aboard(state, holder) if _meant(test, thing) for var in _ways(thing))

    look()
    for step in flow.steps:
        moved = [change for change in step.changes if world.variables[change.var].sort != "property"]
        for var, _, after in moved:
            state.put(world.variables[var], after)
        if moved:
            look()
    for (step, _, _), seen in zip(meant, ever, strict=True):
        step.reads = tuple(dict.fromkeys((*step.reads, *seen)))
