"""Every timing of a plan: starts and ends of its steps in every order that the text allows."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from itertools import product
from typing import Any

from oracles.brute import (
    Broken,
    Cast,
    Lit,
    Plan,
    Rule,
    Step,
    Values,
    Var,
    View,
    World,
    limits,
    possible,
    quantified,
    sure,
)
from oracles.effects import Performer, cast_of, occupied, predicted, targets

WAITING, RUNNING, OVER = 0, 1, 2
CLEAN, DOES_NOT, MAY_NOT = "clean", "does-not", "may-not"
_NOBODY = Cast({}, lambda: None)


class TooMany(Exception):
    """More situations than this plan is worth."""


class Stop(Exception):
    """The first timing that breaks, when no more is asked."""


class Timings:
    """Judges one plan. ``reasons``: the first way it broke, with the events that led there.

    whole: a thing of which one attachment is being written or moved has no position at all. Without, it is still where
    its other attachments are. What lies between the two readings holds in several ways, one of which is going."""

    def __init__(self, plan: Plan, most: int = 6000, whole: bool = False) -> None:
        self.plan = plan
        self.world = World(plan)
        self.steps = plan.steps
        self.vars: list[Var] = []
        self.most = most
        self.first_only = False
        self.whole = whole
        self.known: dict[Any, int] = {}
        self.reasons: list[tuple[tuple[str, ...], str]] = []
        self.cases = [
            (rule, dict(zip([s for s, _ in rule.slots], names, strict=True)))
            for rule in plan.rules
            for names in self._choices(rule)
        ]
        casts = [set(occupied(self.world, s)) for s in self.steps]
        last: dict[str, int] = {}
        self.before: list[set[int]] = []
        for i, step in enumerate(self.steps):
            into = {last[a] for a in casts[i] if a in last} | set(step.on)
            for task in plan.after.get(step.task, ()):
                into |= {j for j, other in enumerate(self.steps) if other.task == task}
            self.before.append(into)
            last.update(dict.fromkeys(casts[i], i))
        self.within = [[s for s, other in enumerate(self.steps) if m in other.beside] for m in range(len(self.steps))]
        self.nested = any(s.beside for s in self.steps)
        self.choosing = [i for i, s in enumerate(self.steps) if groups_in(s)]
        self.choices: dict[int, set[tuple[str, ...]]] = {i: set() for i in self.choosing}
        self.settled: dict[tuple[int, tuple[str, ...]], Step] = {}
        self.known_targets: dict[tuple[int, tuple[str, ...]], dict[Var, None]] = {}

    def _choices(self, rule: Rule) -> Iterator[tuple[str, ...]]:
        return product(*([n for n in self.world.things if self.world.a(n, (kind,))] for _, kind in rule.slots))

    def verdict(self) -> str:
        values = {**self.world.start(), **{("chosen", str(i)): () for i in self.choosing}}
        self.vars = list(values)
        try:
            self._look(values, {})  # what is wrong from the start is wrong where nobody does anything, too
        except Broken as reason:
            found = self._broke((), str(reason))
        else:
            found = self._from((WAITING,) * len(self.steps), values, {}, ())
        return {1: DOES_NOT, 2: CLEAN, 3: MAY_NOT}[found]

    def wrong_end(self, values: Values) -> str:
        """What more is wrong with an end: nothing (empty) unless somebody asks more of it."""
        return ""

    def breaks(self) -> str:
        """Why some timing breaks; empty if none does. Quicker than the verdict: it stops at the first."""
        self.first_only = True
        try:
            self.verdict()
        except Stop as stop:
            return str(stop)
        return ""

    def _from(
        self, status: tuple[int, ...], values: Values, new: dict[int, dict[Var, Any]], path: tuple[str, ...]
    ) -> int:
        """1: some timing breaks; 2: some timing ends well."""
        key = (
            status,
            tuple(values[v] for v in self.vars),
            tuple((i, tuple(sorted(n.items()))) for i, n in sorted(new.items()))
            if any(self.steps[i].action.makes for i in new)
            else (),
        )
        if key in self.known:
            return self.known[key]
        if len(self.known) > self.most:
            raise TooMany
        found = 0
        moved = False
        for i in range(len(status)):
            if status[i] == WAITING and self._may_start(i, status):
                moved = True
                found |= self._start(i, status, values, new, path)
            elif status[i] == RUNNING and all(status[s] == OVER for s in self.within[i]):
                moved = True
                found |= self._end(i, status, values, new, path)
        if not moved:
            found = 2 if all(s == OVER for s in status) else self._broke(path, "everybody waits")
            if found == 2 and not all(sure(View(self.world, values), lit, _NOBODY) for lit in self.plan.left):
                found = self._broke(path, "left otherwise than said")
            if found == 2 and self.wrong_end(values):
                found = self._broke(path, self.wrong_end(values))
        self.known[key] = found
        return found

    def _step(self, i: int, values: Values) -> Step:
        """A step as it is done: what it chose when it began is kept with the values."""
        chosen = values.get(("chosen", str(i)), ())
        if not chosen:
            return self.steps[i]
        return self.settled[i, chosen]

    def _targets(self, i: int, values: Values) -> dict[Var, None]:
        key = (i, values.get(("chosen", str(i)), ()))
        if key not in self.known_targets:
            self.known_targets[key] = targets(self.world, self._step(i, values))
        return self.known_targets[key]

    def _choose(self, i: int, values: Values, new: dict[int, dict[Var, Any]]) -> Values:
        flux = {v: x for n in new.values() for v, x in n.items()}
        step = chosen(
            self.steps[i],
            self.plan,
            View(self.world, values, None, self._blur(set(flux), values)),
            View(self.world, values, flux),
        )
        names = tuple(step.args.values())
        self.settled[i, names] = step
        self.choices[i].add(names)
        return {**values, ("chosen", str(i)): names}

    def _may_start(self, i: int, status: tuple[int, ...]) -> bool:
        return all(status[j] == OVER for j in self.before[i]) and all(
            status[m] == RUNNING for m in self.steps[i].beside
        )

    def _broke(self, path: tuple[str, ...], reason: str) -> int:
        if self.first_only:
            raise Stop(reason)
        if not self.reasons or len(path) < len(self.reasons[0][0]):
            self.reasons[:] = [(path, reason)]
        return 1

    def _start(
        self, i: int, status: tuple[int, ...], values: Values, new: dict[int, dict[Var, Any]], path: tuple[str, ...]
    ) -> int:
        path = (*path, f"start {i}")
        if i in self.choices:
            values = self._choose(i, values, new)
        new = {**new, i: predicted(self.world, self._step(i, values), values)}
        status = (*status[:i], RUNNING, *status[i + 1 :])
        try:
            self._look(values, new)
        except Broken as reason:
            return self._broke(path, str(reason))
        return self._from(status, values, new, path)

    def _end(
        self, i: int, status: tuple[int, ...], values: Values, new: dict[int, dict[Var, Any]], path: tuple[str, ...]
    ) -> int:
        path = (*path, f"end {i}")
        new = {j: n for j, n in new.items() if j != i}
        values = dict(values)
        step = self._step(i, values)
        if i in self.choices:
            values["chosen", str(i)] = ()
        status = (*status[:i], OVER, *status[i + 1 :])
        try:
            Performer(self.world, step, values, self._blur({v for n in new.values() for v in n}, values), False).run()
            self._look(values, new)
            self._done(i, status, values, new)
        except Broken as reason:
            return self._broke(path, str(reason))
        return self._from(status, values, new, path)

    def _done(self, i: int, status: tuple[int, ...], values: Values, new: dict[int, dict[Var, Any]]) -> None:
        task = self.steps[i].task
        if any(s != OVER for s, step in zip(status, self.steps, strict=True) if step.task == task):
            return
        view = View(self.world, values, None, self._blur({v for n in new.values() for v in n}, values))
        for lit in self.plan.done.get(task, ()):
            if not sure(view, lit, _NOBODY):
                raise Broken(f"task {task} is not done: {lit}")

    def _look(self, values: Values, new: dict[int, dict[Var, Any]]) -> None:
        """One instant: needs of what runs, then everything that counts old and new."""
        for i in new:
            step = self._step(i, values)
            others = {v: x for j, n in new.items() if j != i for v, x in n.items()}
            own = self._targets(i, values)
            if not others.keys().isdisjoint(own):
                raise Broken(f"step {i} and another write {sorted(own.keys() & others.keys())}")
            sharp = View(self.world, values, None, self._blur(set(others), values))
            unmet = unmet_need(sharp, View(self.world, values, others), step)
            if unmet is not None:
                raise Broken(f"step {i} needs {unmet}")
            if self.nested and others:
                self._touch(step, values, others, sharp.blurred)
        both = View(self.world, values, {v: value for n in new.values() for v, value in n.items()})
        both.turns = [list(n) for n in new.values()]
        for reason in limits(both):
            raise Broken(reason)
        self._rules(both, new)

    def _touch(self, step: Step, values: Values, flux: dict[Var, Any], blurred: set[Var]) -> None:
        """What a step touches it touches from its start on. That tells apart only steps that run within another: those
        must not change what the outer step's effects go by, to better or to worse."""
        good = 0
        for seen in (values, {**values, **flux}):
            with suppress(Broken):
                Performer(self.world, step, dict(seen), (), False).run()
                good += 1
        if good:  # else it is not a matter of what else runs, and judged at its end
            Performer(self.world, step, dict(values), blurred, False).run()

    def _blur(self, written: set[Var], values: Values) -> set[Var]:
        if not self.whole:
            return written
        sharp, out = View(self.world, values), set(written)
        for item in self.world.items:
            own = {v for v in self.vars if v[1] == item and v[0] in ("held", "from", "to")}
            carried = (
                {n for a in sharp.anchors(item) for n in sharp.below(a)} if len(sharp.anchors(item)) > 1 else set()
            )
            if any(v in written for v in own) or any(v[1] in carried for v in written if v[0] in ("held", "place")):
                out |= own
        return out

    def _rules(self, view: View, new: dict[int, dict[Var, Any]]) -> None:
        for rule, names in self.cases:
            cast = Cast(dict(names), lambda: None)
            tests = list(rule.tests)
            if rule.always:
                tests[0] = _not(tests[0])
            if all(self._counts(view, lit, cast, new) for lit in tests):
                raise Broken(f"rule {rule.tests} {names}")

    def _counts(self, view: View, lit: Lit, cast: Cast, new: dict[int, dict[Var, Any]]) -> bool:
        if lit.op == "working":
            a, b = cast.term(lit.a), cast.term(lit.b)
            return any(
                s.action.works_on
                and s.args[s.action.works_on] == b
                and (a in (s.actor, s.helper) or (isinstance(a, tuple) and self._doers(s, a[1])))
                for s in (self._step(i, view.values) for i in new)
            )
        if lit.op == "moving":
            a, b = cast.term(lit.a), cast.term(lit.b)
            ways = [(view.values["place", a], n["place", a]) for n in new.values() if ("place", a) in n]
            return any(
                self.world.sort(p) == "location"
                and self.world.sort(q) == "location"
                and any(e == b or b in self.world.things[e].near for e in (p, q))
                for p, q in ways
            )
        return possible(view, lit, cast)

    def _doers(self, step: Step, kind: str) -> bool:
        return any(n and self.world.a(n, (kind,)) for n in (step.actor, step.helper))


def groups_in(step: Step) -> list[str]:
    """The slots that stand for one of a group."""
    return [slot for slot, name in step.args.items() if name.startswith("any ")]


def chosen(step: Step, plan: Plan, sharp: View, mixed: View) -> Step:
    """The step with the first members, in order, of which all its needs hold; the very first if there are none."""
    slots = groups_in(step)
    first = None
    for members in product(*(plan.groups[step.args[slot].removeprefix("any ")] for slot in slots)):
        if len(set(members)) < len(members):
            continue
        trial = replace(step, args={**step.args, **dict(zip(slots, members, strict=True))})
        first = first or trial
        if unmet_need(sharp, mixed, trial) is None:
            return trial
    assert first is not None
    return first


def unmet_need(sharp: View, mixed: View, step: Step) -> Lit | None:
    """A need of a step that does not hold. sharp: what others write has no value; mixed: it has its old and its new."""
    cast = cast_of(sharp.world, step, sharp)
    for need in step.action.needs:
        held = sure(sharp, need, cast) if not quantified(need) else not possible(mixed, _turned(need), cast)
        if not held:
            return need
    return None


def _not(lit: Lit) -> Lit:
    """Of nobody what is asked of somebody, and the other way round."""
    if isinstance(lit.a, tuple) and lit.a[0] in ("some", "none"):
        return lit._replace(a=("none" if lit.a[0] == "some" else "some", lit.a[1]))
    return lit._replace(neg=not lit.neg)


def _turned(need: Lit) -> Lit:
    """What a step with this need must never meet. Who moves within a place is there all along."""
    side = "a" if isinstance(need.a, tuple) else "b"
    quant, kind = getattr(need, side)
    if quant == "some":
        return need._replace(**{side: ("none", kind)})
    return need._replace(**{side: ("some", kind)}, neg=need.neg if quant == "none" else not need.neg)
