"""Rules that stand over the whole excursion: ``never`` and ``always``, decided under every timing.

Each rule is taken apart into cases, one for each choice of things for its slots; in a case each literal is true for
certain stays, read off the replay. ``never`` fails iff one stay of each literal can meet. ``always F while G`` is
``never not-F and G``. A case whose literal changes by steps that nothing orders is not decided, and said to be.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import product
from typing import Any, NamedTuple

from jackstay.flow.records import Step
from jackstay.flow.replay import Replay
from jackstay.flow.singly import meet_singly, singly, together
from jackstay.flow.state import State
from jackstay.flow.stays import Stay, apart, meet, ordered
from jackstay.flow.tests import Judge
from jackstay.flow.warnings import Warnings
from jackstay.model.records import Hazard, Here, Kind, Quantified, Rule, Slot, Term, Test, Thing, Var

_MOST_CASES = 50_000


class Case(NamedTuple):
    """Literals that must not all be true at once, with their binding: of a rule, or (one literal) while a step runs, or
    of a hazard that nothing guards against, and of which nobody has been warned."""

    rule: Rule | None
    step: Step | None
    tests: tuple[Test, ...]
    binding: tuple[Any, ...]
    hazard: Hazard | None = None
    written: tuple[Test, ...] = ()  # where one has been taken apart thing by thing (`singly`): before that
    of: tuple[int, ...] = ()  # which of those each test is from


class Watch:
    """The truth of one literal along the replay."""

    __slots__ = ("binding", "since", "stays", "test", "true")

    def __init__(self, test: Test, binding: tuple[Any, ...]) -> None:
        self.test = test
        self.binding = binding
        self.true = False
        self.since: Step | None = None
        self.stays: list[Stay] = []


def check_rules(replay: Replay) -> None:
    """Report ``rule-broken``, ``rule-may-break``, ``need-may-fail``, ``exposed``, ``may-be-exposed`` and
    ``not-decided``."""
    if not (replay.world.rules or replay.quantified or replay.world.hazards):
        return
    standing = Standing(replay)
    for rule in replay.world.rules:
        standing.add_rule(rule)
    for hazard in replay.world.hazards.values():
        standing.add_hazard(hazard)
    for step, test in replay.quantified:
        standing.add_need(step, test)
    standing.by_var, standing.carrying = _trace(replay, list(standing.watches.values()), standing.whereabouts)
    standing.judge()
    replay.standing = standing


class Standing:
    """Collects cases, then judges them. A case is a choice of things for a rule's slots, or one quantified need of one
    step; literals that several cases share are watched once."""

    def __init__(self, replay: Replay) -> None:
        self.replay = replay
        self.flow = replay.flow
        self.working: dict[tuple[Thing, Thing], list[Stay]] = {}
        self.moving: dict[tuple[Thing, Thing], list[Stay]] = {}
        spoken_of = {t.op for rule in replay.world.rules for t in (*rule.tests, *rule.meanwhile)}
        spoken_of.update([t.op for _, t in replay.quantified])
        for hazard in replay.world.hazards.values():
            spoken_of.update([t.op for t in (*hazard.tests, *hazard.meanwhile, *itertools.chain(*hazard.unless))])
        if "working" in spoken_of:
            note_work(replay, self.working)
        if "moving" in spoken_of:
            note_moves(replay, self.moving)
        self.watches: dict[tuple[Any, ...], Watch] = {}
        self.cases: list[tuple[Case, list[tuple[Any, ...]]]] = []
        self._holders: dict[int, set[Thing]] | None = None
        self.whereabouts: dict[Thing, list[Stay]] = {}  # thing -> its stays at locations
        self.stays_at: dict[Thing, dict[int, list[Stay]]] = {}
        # variable -> what reads it: watches by number, things whose whereabouts are followed by number
        self.by_var: dict[int, set[int]] = {}
        self.carrying: dict[int, set[int]] = {}
        self.warnings = Warnings(replay)
        self.told: set[tuple[Any, ...]] = set()
        self.unsure: set[int] = set()

    def _ever_on(self, holder: Thing) -> set[Thing]:
        """What ever hangs on, sits in or is tied to it."""
        if self._holders is None:
            self._holders = self._note_holders()
        return self._holders.get(holder.index, set())

    def _note_holders(self) -> dict[int, set[Thing]]:
        variables = self.replay.world.variables
        ever_on: defaultdict[int, set[Thing]] = defaultdict(set)

        def note(variable: Var, value: Any) -> None:
            if variable.sort == "held":
                for holding in value or ():
                    ever_on[holding.holder.index].add(variable.thing)
            elif variable.sort != "property" and value is not None:
                ever_on[value.index].add(variable.thing)

        for variable, value in zip(variables, self.flow.start, strict=True):
            note(variable, value)
        held = {v.id: v.thing for v in variables if v.sort == "held"}
        for step in self.flow.steps:
            for var, _, after in step.changes:
                thing = held.get(var)
                if thing is None:
                    note(variables[var], after)
                else:  # by far the most
                    for _, holder in after or ():
                        ever_on[holder.index].add(thing)
        return ever_on

    def add_rule(self, rule: Rule) -> None:
        if rule.on_clock:
            return  # a matter of the clock: `timing.lasting`
        self._cases(rule, _forbidden(rule), rule.slots)

    def add_hazard(self, hazard: Hazard) -> None:
        """Exposed, with one literal of each way out not true. A warning is looked at when it is judged."""
        if not hazard.tests:
            return
        outs = itertools.product(*hazard.unless)
        exposures = [(*hazard.tests, *hazard.meanwhile, *(_negate(test) for test in out)) for out in outs]
        self._cases(hazard, exposures, hazard.slots)

    def _cases(self, rule: Rule | Hazard, forbidden: Iterable[tuple[Test, ...]], own: tuple[Slot, ...]) -> None:
        for tests in forbidden:
            if any(t.op in ("reach", "sight", "done") for t in tests):
                self._undecided(rule, "it speaks of reach or sight, which two things change together")
                continue
            if any(t.op in ("working", "moving") and _of_no_step(t) for t in tests):
                self._undecided(rule, "it speaks of when somebody is not at work, or not on the way")
                continue
            slots: list[tuple[Kind, ...]] = [slot.kinds for slot in own]
            opened = tuple(_open_some(t, slots) for t in tests)
            domains = [self._domain(i, kinds, opened) for i, kinds in enumerate(slots)]
            count = 1
            for domain in domains:
                count *= len(domain)
            if count > _MOST_CASES:
                self._undecided(rule, f"it has {count} cases here; up to {_MOST_CASES} are followed")
                continue
            declared = len(own)
            for binding in product(*domains):
                if len(set(binding[:declared])) < declared:
                    continue  # two slots of one rule stand for two things
                if isinstance(rule, Rule):
                    self._add(Case(rule, None, opened, binding))
                else:
                    self._add(Case(None, None, opened, binding, rule))

    def add_need(self, step: Step, test: Test) -> None:
        """A need about a whole kind must hold while the step runs, whatever others do meanwhile. What only the step's
        own cast can change has been decided by the replay."""
        if test.op in ("attached", "to", "from"):
            fixed = test.b if isinstance(test.a, Quantified) else test.a
            if (step.binding[fixed.index] if isinstance(fixed, Slot) else fixed) in step.cast:
                return
        slots: list[tuple[Kind, ...]] = []
        opened = _open_some(_ground(_negate(test), step.binding), slots)
        if not slots:
            self._add(Case(None, step, (opened,), ()))
            return
        candidates = list(self.replay.judge.things_of(slots[0][0]))
        if opened.op in ("attached", "to", "from") and isinstance(opened.b, Thing) and isinstance(opened.a, Slot):
            on = self._ever_on(opened.b)
            candidates = [t for t in candidates if t in on]
        for thing in candidates:
            self._add(Case(None, step, (opened,), (thing,)))

    def _add(self, case: Case) -> None:
        parts = singly(case.tests, case.binding, self.replay.judge, self._ever_on)
        if parts is not None:
            case = case._replace(tests=parts.tests, written=case.tests, of=parts.of)
        keys = []
        for test in case.tests:
            key = _key(test, case.binding)
            keys.append(key)
            if (
                test.op not in ("working", "moving")
                and key not in self.watches
                and not self._placed(test, case.binding)
            ):
                self.watches[key] = Watch(test, case.binding)
        self.cases.append((case, keys))

    def _placed(self, test: Test, binding: tuple[Any, ...]) -> tuple[Thing, Thing] | None:
        """``X at P`` of one thing and one place: read off the thing's whereabouts, which all its places share."""
        if test.op != "located" or test.negated:
            return None
        a = binding[test.a.index] if isinstance(test.a, Slot) else test.a
        b = binding[test.b.index] if isinstance(test.b, Slot) else test.b
        if not isinstance(a, Thing) or not isinstance(b, Thing):
            return None
        if a not in self.whereabouts:
            self.whereabouts[a] = []
        return a, b

    def _stays_at(self, thing: Thing, place: Thing) -> list[Stay]:
        stays = self.stays_at.get(thing)
        if stays is None:
            stays = {}
            for stay in self.whereabouts[thing]:
                for index in stay.thing.stations:
                    chain = stays.setdefault(index, [])
                    if chain and chain[-1].end is stay.start:
                        chain[-1] = Stay(chain[-1].start, stay.end)  # from one fitting of the place to another
                    else:
                        chain.append(Stay(stay.start, stay.end))
            self.stays_at[thing] = stays
        return stays.get(place.index, [])

    def _domain(self, index: int, kinds: tuple[Kind, ...], tests: tuple[Test, ...]) -> list[Thing]:
        """The things for one slot; a slot of ``working on`` or ``moving at`` ranges over what occurs."""
        domain = [t for kind in kinds for t in self.replay.judge.things_of(kind)]
        for test in tests:
            if test.op not in ("working", "moving") or test.negated:
                continue
            events = self.working if test.op == "working" else self.moving
            if isinstance(test.a, Slot) and test.a.index == index:
                seen = {a for a, _ in events}
                domain = [t for t in domain if t in seen]
            if isinstance(test.b, Slot) and test.b.index == index:
                if test.op == "moving":
                    domain = [
                        t for t in domain if any(t.index in b.stations or b.index in t.stations for _, b in events)
                    ]
                else:
                    reached = {b for _, b in events}
                    domain = [t for t in domain if t in reached]
        return domain

    def _undecided(self, rule: Rule | Hazard, reason: str) -> None:
        if id(rule) not in self.unsure:
            self.unsure.add(id(rule))
            self.replay._tell(
                "not-decided", rule.decl, what="rule", rule=rule, excursion=self.flow.excursion, reason=reason
            )

    # --- judging -----------------------------------------------------------------------------------------------------

    def judge(self) -> None:
        for case, keys in self.cases:
            chains = [
                self._chain(test, case.binding, self.watches.get(key))
                for test, key in zip(case.tests, keys, strict=True)
            ]
            if any(not chain for chain in chains):
                continue
            if case.step is not None:
                self._judge_need(case, case.step, chains)
                continue
            owner = case.rule or case.hazard
            assert owner is not None
            if case.hazard is not None:
                chains = self.warnings.unwarned(case.hazard, case.binding, chains)
            whole = [chain if ordered(chain) else _as_chain(chain) for chain in chains]
            if any(chain is None for chain in whole):
                self._undecided(owner, "what it speaks of is changed by steps that nothing orders")
                continue
            sound = [chain for chain in whole if chain is not None]
            stays = meet_singly(sound, case.of) if case.of else meet(sound)
            if stays is None or self._follows_from_failure(stays):
                continue
            if case.hazard is None or self.warnings.begun_here(stays):
                self._tell_rule(case, owner, stays)

    def _follows_from_failure(self, stays: list[Stay]) -> bool:
        failed = self.replay.failed
        return bool(failed) and any(
            s.index in failed for stay in stays for s in (stay.start, stay.end) if s is not None
        )

    def _judge_need(self, case: Case, step: Step, chains: list[list[Stay]]) -> None:
        """A stay that the step's own start or effects bound does not count: the replay has judged those."""
        running = Stay(step, step)
        chain = chains[0]
        if case.of:
            others = [[stay for stay in one if stay.start is not step] for one in chains]
            # what nothing orders may be so at any time
            whole = [(_as_chain(one) or [Stay(None, None)]) if one else one for one in others]
            met = meet_singly([[running], *whole], (-1, *case.of))
            if met is None or step.index in self.replay.failed:
                return
            chain = [] if _surely(met) else together(met[1:], case.of)
        for stay in chain:
            if stay.start is step or stay.end is step or apart(stay, running):
                continue
            key = ("need", step.index, case.tests[0].text)
            sure = not case.of and _surely([stay, running])
            if key not in self.told and not sure:
                self.told.add(key)
                self.replay._tell(
                    "need-may-fail",
                    step.entry.at,
                    flow=self.flow,
                    step=step,
                    test=(case.written or case.tests)[0],
                    thing=case.binding[0] if case.binding else None,
                    stays=[stay],
                )
            return

    def _tell_rule(self, case: Case, rule: Rule | Hazard, met: list[Stay]) -> None:
        stays = together(met, case.of) if case.of else met
        makers = [s.start for s in stays if s.start is not None]
        last = max(makers, key=lambda s: s.index) if makers else None
        at = last.entry.at if last is not None else self.flow.excursion.decl
        key = (rule.name, at.line, last.index if last else -1)
        if key in self.told:
            return
        self.told.add(key)
        sure, may = ("rule-broken", "rule-may-break") if case.hazard is None else ("exposed", "may-be-exposed")
        self.replay._tell(
            sure if _surely(met) else may,
            at,
            flow=self.flow,
            rule=rule,
            stays=stays,
            step=last,
            tests=case.written or case.tests,
            binding=case.binding,
        )

    def _chain(self, test: Test, binding: tuple[Any, ...], watch: Watch | None) -> list[Stay]:
        if watch is not None:
            return watch.stays
        placed = self._placed(test, binding)
        if placed is not None:
            return self._stays_at(*placed)
        a = binding[test.a.index] if isinstance(test.a, Slot) else test.a
        b = binding[test.b.index] if isinstance(test.b, Slot) else test.b
        if test.op == "working":
            return self.working.get((a, b), []) if isinstance(a, Thing) and isinstance(b, Thing) else []
        if not isinstance(b, Thing):
            return []
        out = [
            s
            for (actor, place), stays in self.moving.items()
            if actor is a and (place is b or place.index in b.stations or b.index in place.stations)
            for s in stays
        ]
        return sorted(out, key=lambda s: s.start.index if s.start else -1)


def _of_no_step(test: Test) -> bool:
    """Whether a literal about what runs is true while nothing runs."""
    quants = [term.quant for term in (test.a, test.b) if isinstance(term, Quantified)]
    return test.negated or any(quant != "some" for quant in quants)


def _ground(test: Test, binding: tuple[Any, ...]) -> Test:
    """A step's test with the step's things in place of the slots."""

    def ground(term: Term | None) -> Term | None:
        if isinstance(term, Slot):
            bound = binding[term.index]
            return bound if isinstance(bound, Thing) else term
        return term

    a = ground(test.a)
    assert a is not None
    return test._replace(a=a, b=ground(test.b))


def _surely(stays: list[Stay]) -> bool:
    """Whether the stays overlap in every timing: each has begun when the last begins, and none can be over before."""
    for a in stays:
        for b in stays:
            if a is b or b.start is None:
                continue
            begun = (
                a.start is None
                or a.start is b.start
                or b.start.clock[a.start.positions[0][0]] > a.start.positions[0][1]
            )
            lasts = a.end is None or a.end is b.start or a.end.clock[b.start.positions[0][0]] > b.start.positions[0][1]
            if not (begun and lasts) and not (_is_begun(b, a)):
                return False
    return True


def _is_begun(b: Stay, a: Stay) -> bool:
    begun = b.start is None or a.start is None or a.start.clock[b.start.positions[0][0]] > b.start.positions[0][1]
    lasts = (
        a.start is None
        or b.end is None
        or b.end is a.start
        or b.end.clock[a.start.positions[0][0]] > a.start.positions[0][1]
    )
    return a.start is not None and begun and lasts


def note_work(replay: Replay, working: dict[tuple[Thing, Thing], list[Stay]]) -> None:
    """Who works on what while which step runs."""
    judge = Judge(replay.world, State(len(replay.world.variables)), replay.flow.excursion)
    values = judge.state.values = list(replay.flow.start)
    for step in replay.flow.steps:
        if step.action is not None and step.action.works_on:
            for term in step.action.works_on:
                thing = judge.term(term, step.binding)
                if thing is not None:
                    for doer in step.binding[:2]:
                        if isinstance(doer, Thing):
                            working.setdefault((doer, thing), []).append(Stay(step, step))
        for var, _, after in step.changes:
            values[var] = after


def note_moves(replay: Replay, moving: dict[tuple[Thing, Thing], list[Stay]]) -> None:
    """Who is on the way from and to where while which step runs."""
    actors = {v.id: v.thing for v in replay.world.variables if v.sort == "place"}
    for step in replay.flow.steps:
        for var, before, after in step.changes:
            actor = actors.get(var)
            if actor is not None and before is not None and isinstance(after, Thing) and after.sort == "location":
                for node in (before, after):
                    if node.sort == "location":
                        moving.setdefault((actor, node), []).append(Stay(step, step))


def _forbidden(rule: Rule) -> Iterator[tuple[Test, ...]]:
    """The conjunctions that must never be true."""
    if rule.never:
        yield (*rule.tests, *rule.meanwhile)
        return
    for test in rule.tests:
        yield (_negate(test), *rule.meanwhile)


def _negate(test: Test) -> Test:
    """not-F: under a quantifier the quantifier turns over, and speaks of the same things."""
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


def _open_some(test: Test, slots: list[tuple[Kind, ...]]) -> Test:
    for side in ("a", "b"):
        term: Term | None = getattr(test, side)
        other: Term | None = test.b if side == "a" else test.a
        if (
            isinstance(term, Quantified)
            and term.quant == "some"
            and not term.crew
            and not isinstance(other, Quantified)
            and not test.negated
        ):
            slot = Slot(len(slots), term.word, (term.kind,))
            slots.append((term.kind,))
            return test._replace(a=slot) if side == "a" else test._replace(b=slot)
    return test


def _key(test: Test, binding: tuple[Any, ...]) -> tuple[Any, ...]:
    def ground(term: Term | None) -> Any:
        if isinstance(term, Slot):
            return binding[term.index].index
        if isinstance(term, Thing):
            return term.index
        if isinstance(term, Quantified):
            return (term.quant, id(term.kind), term.crew)
        return "here" if isinstance(term, Here) else None

    value = ground(test.value) if isinstance(test.value, Slot) else repr(test.value)
    return (test.op, test.negated, ground(test.a), ground(test.b), test.manner, test.prop, value)


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


def _trace(
    replay: Replay, watches: list[Watch], whereabouts: dict[Thing, list[Stay]]
) -> tuple[dict[int, set[int]], dict[int, set[int]]]:
    """Read off every literal's stays, and the whereabouts of things, along the replay. A literal is looked at again
    only when a variable that its last evaluation read has changed. Returns what has read each variable."""
    state = State(0)
    values = state.values = list(replay.flow.start)
    judge = Judge(replay.world, state, replay.flow.excursion)
    by_var: dict[int, set[int]] = {}
    following = list(whereabouts)
    since: list[tuple[Step | None, Thing | None]] = [(None, state.location(thing)) for thing in following]
    carrying: dict[int, set[int]] = {}
    none: frozenset[int] = frozenset()

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

    def find(i: int, step: Step | None) -> None:
        walk = state.chain(following[i])
        for _, var in walk:
            if var >= 0:
                carrying.setdefault(var, set()).add(i)
        begun, place = since[i]
        last = walk[-1][0]
        now = last if last.sort == "location" else None
        if now is not place:
            if place is not None:
                whereabouts[following[i]].append(Stay(begun, step, place))
            since[i] = (step, now)

    for i in range(len(watches)):
        look(i, None)
    for i in range(len(following)):
        find(i, None)
    for step in replay.flow.steps:
        again = moved = none
        for var, _, after in step.changes:
            values[var] = after
            if var in by_var:
                again = again | by_var[var]
            if var in carrying:
                moved = moved | carrying[var]
        if again:
            for i in sorted(again):
                look(i, step)
        if moved:
            for i in sorted(moved):
                find(i, step)
    for watch in watches:
        if watch.true:
            watch.stays.append(Stay(watch.since, None))
    for thing, (begun, place) in zip(following, since, strict=True):
        if place is not None:
            whereabouts[thing].append(Stay(begun, None, place))
    return by_var, carrying


def _truth(judge: Judge, watch: Watch) -> bool:
    test = watch.test
    if isinstance(test.a, Quantified) or isinstance(test.b, Quantified):
        # all candidates' variables matter, not just those of the one that decided
        truth = judge.holds(test, watch.binding)
        quant = test.a if isinstance(test.a, Quantified) else test.b
        assert isinstance(quant, Quantified)
        for thing in judge.among(quant):
            plain = test._replace(a=thing) if quant is test.a else test._replace(b=thing)
            if not isinstance(plain.a, Quantified) and not isinstance(plain.b, Quantified):
                judge.holds(plain, watch.binding)
        return truth
    return judge.holds(test, watch.binding)
