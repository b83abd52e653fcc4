"""Rules that stand over the whole excursion: ``never`` and ``always``, decided under every timing.

Each rule is taken apart into cases, one for each choice of things for its slots; in a case each literal is true for
certain stays, read off the replay. ``never`` fails iff one stay of each literal can meet. ``always F while G`` is
``never not-F and G``. A case whose literal changes by steps that nothing orders is not decided, and said to be.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import Any, NamedTuple

from jackstay.flow.records import Step
from jackstay.flow.replay import Replay
from jackstay.flow.state import State
from jackstay.flow.stays import Stay, meet, ordered
from jackstay.flow.tests import Judge
from jackstay.model.records import Here, Kind, Quantified, Rule, Slot, Term, Test, Thing

_MOST_CASES = 50_000


class Case(NamedTuple):
    """The literals of one case, as tests that must not all be true at once, with their bindings."""

    rule: Rule
    tests: tuple[Test, ...]
    binding: tuple[Any, ...]


class Watch:
    """The truth of one literal along the replay."""

    __slots__ = ("test", "binding", "true", "since", "stays", "loose")

    def __init__(self, test: Test, binding: tuple[Any, ...]) -> None:
        self.test = test
        self.binding = binding
        self.true = False
        self.since: Step | None = None
        self.stays: list[Stay] = []


def check_rules(replay: Replay, start: State) -> None:
    """Report ``rule-broken``, ``rule-may-break`` and ``not-decided``."""
    flow = replay.flow
    if not replay.world.rules or not flow.steps:
        return
    working: dict[tuple[Thing, Thing], list[Stay]] = {}
    moving: dict[tuple[Thing, Thing], list[Stay]] = {}
    _events(replay, working, moving)
    cases: list[tuple[Case, list[tuple[Any, ...]]]] = []
    watches: dict[tuple[Any, ...], Watch] = {}
    for rule in replay.world.rules:
        split = list(_forbidden(rule))
        for tests in split:
            if any(t.op == "reach" or t.op == "done" for t in tests):
                replay._tell("not-decided", rule.decl, what="rule", rule=rule, excursion=flow.excursion,
                             reason="it speaks of reach, which two things change together")
                continue
            found = 0
            for case in _cases(rule, tests, replay, working, moving):
                found += 1
                if found > _MOST_CASES:
                    replay._tell("not-decided", rule.decl, what="rule", rule=rule, excursion=flow.excursion,
                                 reason=f"it has more than {_MOST_CASES} cases")
                    break
                keys = []
                for test in case.tests:
                    key = _key(test, case.binding)
                    keys.append(key)
                    if test.op not in ("working", "moving") and key not in watches:
                        watches[key] = Watch(test, case.binding)
                cases.append((case, keys))
    _trace(replay, start, list(watches.values()))
    told: set[tuple[str, int, int]] = set()
    unsure: set[int] = set()
    for case, keys in cases:
        chains = [_chain(test, case.binding, watches.get(key), working, moving)
                  for test, key in zip(case.tests, keys, strict=True)]
        if any(not chain for chain in chains):
            continue
        if not all(ordered(chain) for chain in chains):
            chains = [_as_chain(chain) for chain in chains]
            if any(chain is None for chain in chains):
                if id(case.rule) not in unsure:
                    unsure.add(id(case.rule))
                    replay._tell("not-decided", case.rule.decl, what="rule", rule=case.rule, excursion=flow.excursion,
                                 reason="what it speaks of is changed by steps that nothing orders")
                continue
        stays = meet(chains)  # type: ignore[arg-type]
        if stays is None:
            continue
        makers = [s.start for s in stays if s.start is not None]
        last = max(makers, key=lambda s: s.index) if makers else None
        at = last.entry.at if last is not None else case.rule.decl
        key = (case.rule.name, at.line, last.index if last else -1)
        if key in told:
            continue
        told.add(key)
        surely = _surely(stays)
        replay._tell("rule-broken" if surely else "rule-may-break", at, flow=flow, rule=case.rule, stays=stays, step=last,
                     tests=case.tests, binding=case.binding)


def _surely(stays: list[Stay]) -> bool:
    """Whether the stays overlap in every timing: each has begun when the last begins, and none can be over before."""
    for a in stays:
        for b in stays:
            if a is b or b.start is None:
                continue
            begun = a.start is None or a.start is b.start or b.start.clock[a.start.positions[0][0]] > a.start.positions[0][1]
            lasts = a.end is None or a.end is b.start or a.end.clock[b.start.positions[0][0]] > b.start.positions[0][1]
            if not (begun and lasts) and not (_is_begun(b, a)):
                return False
    return True


def _is_begun(b: Stay, a: Stay) -> bool:
    begun = b.start is None or a.start is None or a.start.clock[b.start.positions[0][0]] > b.start.positions[0][1]
    lasts = a.start is None or b.end is None or b.end is a.start or b.end.clock[a.start.positions[0][0]] > a.start.positions[0][1]
    return a.start is not None and begun and lasts


def _events(replay: Replay, working: dict[tuple[Thing, Thing], list[Stay]], moving: dict[tuple[Thing, Thing], list[Stay]]) -> None:
    """Who works on what while which step runs, and who is on the way from and to where."""
    judge = Judge(replay.world, State(len(replay.world.variables)))
    judge.state.values = list(replay.flow.start)
    for step in replay.flow.steps:
        if step.action is not None:
            for term in step.action.works_on:
                thing = judge.term(term, step.binding)
                if thing is not None:
                    for doer in step.binding[:2]:
                        if isinstance(doer, Thing):
                            working.setdefault((doer, thing), []).append(Stay(step, step))
        for change in step.changes:
            variable = replay.world.variables[change.var]
            if variable.sort == "place":
                for node in (change.before, change.after):
                    if isinstance(node, Thing) and node.sort == "location":
                        if change.before is not None and isinstance(change.after, Thing) and change.after.sort == "location":
                            moving.setdefault((variable.thing, node), []).append(Stay(step, step))
        for change in step.changes:
            judge.state.values[change.var] = change.after


def _forbidden(rule: Rule) -> Iterator[tuple[Test, ...]]:
    """The conjunctions that must never be true."""
    if rule.never:
        yield (*rule.tests, *rule.meanwhile)
        return
    for test in rule.tests:
        yield (_negate(test), *rule.meanwhile)


def _negate(test: Test) -> Test:
    """not-F: under a quantifier the quantifier turns over."""
    flip = {"every": "some", "some": "none", "none": "some"}
    if isinstance(test.a, Quantified):
        quant = test.a
        if quant.quant == "every":
            return test._replace(a=quant._replace(quant="some"), negated=not test.negated)
        return test._replace(a=quant._replace(quant=flip[quant.quant]))
    if isinstance(test.b, Quantified):
        quant = test.b
        if quant.quant == "every":
            return test._replace(b=quant._replace(quant="some"), negated=not test.negated)
        return test._replace(b=quant._replace(quant=flip[quant.quant]))
    return test._replace(negated=not test.negated)


def _cases(rule: Rule, tests: tuple[Test, ...], replay: Replay, working: dict[tuple[Thing, Thing], list[Stay]],
           moving: dict[tuple[Thing, Thing], list[Stay]]) -> Iterator[Case]:
    """One case for each choice of things. "Some X does" in a forbidden conjunction is one case for each X. Slots that
    stand in ``working on`` or ``moving at`` range over what occurs."""
    slots: list[tuple[Kind, ...]] = [slot.kinds for slot in rule.slots]
    tests = tuple(_open_some(t, slots) for t in tests)
    domains: list[list[Thing]] = []
    judge = replay.judge
    for index, kinds in enumerate(slots):
        domain = [t for kind in kinds for t in judge.things_of(kind)]
        for test in tests:
            if test.op in ("working", "moving") and not test.negated:
                events = working if test.op == "working" else moving
                if isinstance(test.a, Slot) and test.a.index == index:
                    seen = {a for a, _ in events}
                    domain = [t for t in domain if t in seen]
                if isinstance(test.b, Slot) and test.b.index == index:
                    reached = {b.index for _, b in events}
                    if test.op == "moving":
                        domain = [t for t in domain if any(t.index in b.stations or b.index in t.stations for _, b in events)]
                    else:
                        domain = [t for t in domain if t.index in reached]
        domains.append(domain)
    for binding in product(*domains):
        yield Case(rule, tests, binding)


def _open_some(test: Test, slots: list[tuple[Kind, ...]]) -> Test:
    for side in ("a", "b"):
        term: Term | None = getattr(test, side)
        other: Term | None = test.b if side == "a" else test.a
        if isinstance(term, Quantified) and term.quant == "some" and not isinstance(other, Quantified) and not test.negated:
            slot = Slot(len(slots), term.word, (term.kind,))
            slots.append((term.kind,))
            return test._replace(**{side: slot})
    return test


def _key(test: Test, binding: tuple[Any, ...]) -> tuple[Any, ...]:
    def ground(term: Term | None) -> Any:
        if isinstance(term, Slot):
            return binding[term.index].index
        if isinstance(term, Thing):
            return term.index
        if isinstance(term, Quantified):
            return (term.quant, id(term.kind))
        return "here" if isinstance(term, Here) else None

    return (test.op, test.negated, ground(test.a), ground(test.b), test.manner, test.prop, repr(test.value))


def _chain(test: Test, binding: tuple[Any, ...], watch: Watch | None, working: dict[tuple[Thing, Thing], list[Stay]],
           moving: dict[tuple[Thing, Thing], list[Stay]]) -> list[Stay]:
    if watch is not None:
        return watch.stays
    a = binding[test.a.index] if isinstance(test.a, Slot) else test.a
    b = binding[test.b.index] if isinstance(test.b, Slot) else test.b
    if test.op == "working":
        return working.get((a, b), [])
    if isinstance(b, Thing):
        out = [s for (actor, place), stays in moving.items() if actor is a and (place is b or place.index in b.stations
                                                                                 or b.index in place.stations) for s in stays]
        return sorted(out, key=lambda s: s.start.index if s.start else -1)
    return []


def _as_chain(chain: list[Stay]) -> list[Stay] | None:
    """Stays in order that may touch (one step unmakes and makes again) as a chain; None if they are not ordered."""
    merged: list[Stay] = []
    for stay in chain:
        if merged and not ordered([merged[-1], stay]):
            last = merged[-1]
            if last.end is stay.start or (last.start is stay.start and last.end is stay.end):
                merged[-1] = Stay(last.start, stay.end, stay.thing)
                continue
            return None
        merged.append(stay)
    return merged


def _trace(replay: Replay, start: State, watches: list[Watch]) -> None:
    """Read off every literal's stays along the replay. A literal is looked at again only when a variable that its last
    evaluation read has changed."""
    state = State(0)
    state.values = list(replay.flow.start)
    judge = Judge(replay.world, state)
    by_var: dict[int, set[int]] = {}

    def look(i: int, step: Step | None) -> None:
        watch = watches[i]
        judge.reads = []
        truth = _truth(judge, watch)
        for var in judge.reads:
            if var >= 0:
                by_var.setdefault(var, set()).add(i)
        if truth and not watch.true:
            watch.since = step
        elif watch.true and not truth:
            watch.stays.append(Stay(watch.since, step))
        watch.true = truth

    for i in range(len(watches)):
        look(i, None)
    for step in replay.flow.steps:
        if not step.changes:
            continue
        again: set[int] = set()
        for change in step.changes:
            state.values[change.var] = change.after
            again |= by_var.get(change.var, set())
        for i in sorted(again):
            look(i, step)
    for watch in watches:
        if watch.true:
            watch.stays.append(Stay(watch.since, None))


def _truth(judge: Judge, watch: Watch) -> bool:
    test = watch.test
    if isinstance(test.a, Quantified) or isinstance(test.b, Quantified):
        # all candidates' variables matter, not just those of the one that decided
        truth = judge.holds(test, watch.binding)
        quant = test.a if isinstance(test.a, Quantified) else test.b
        assert isinstance(quant, Quantified)
        for thing in judge.things_of(quant.kind):
            side = {"a": thing} if quant is test.a else {"b": thing}
            plain = test._replace(**side)
            if not isinstance(plain.a, Quantified) and not isinstance(plain.b, Quantified):
                judge.holds(plain, watch.binding)
        return truth
    return judge.holds(test, watch.binding)
