"""When a conjunction of literals can hold, moment by moment, as an excursion goes by given times.

While a step runs, each variable that it writes may have its old value or its new one (what it writes is in flux), and a
literal counts as true if any of them makes it so. At the instant at which a step ends only the new value counts, so a
fact that one step ends and the next begins again has a break between them, be it ever so short.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import product
from typing import Any, NamedTuple

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.flow.state import State
from jackstay.flow.tests import Judge
from jackstay.model.records import Kind, Quantified, Rule, Slot, Test, Thing, World

MOST_CASES = 5_000


class Case(NamedTuple):
    """One choice of things for a rule's slots. goal: what an ``always … every`` makes again; empty for ``never``.
    tests: the conjunction whose stretches count."""

    rule: Rule
    tests: tuple[Test, ...]
    goal: tuple[Test, ...]
    binding: tuple[Any, ...]


def cases_of(rule: Rule, judge: Judge) -> list[Case] | None:
    """Every case of a rule about the clock; None for too many. Two slots of one rule stand for two things."""
    tests, goal = ((*rule.tests, *rule.meanwhile), ()) if rule.never else (rule.meanwhile, rule.tests)
    domains = [list(dict.fromkeys(t for kind in slot.kinds for t in _things(kind, judge))) for slot in rule.slots]
    count = 1
    for domain in domains:
        count *= len(domain)
    if count > MOST_CASES:
        return None
    return [Case(rule, tests, goal, one) for one in product(*domains) if len(set(one)) == len(one)]


def _things(kind: Kind, judge: Judge) -> list[Thing]:
    return judge.things_of(kind)


class Atom:
    """A literal about two things: whether it can be true now, and whether it can be false."""

    __slots__ = ("binding", "can_be", "can_fail", "number", "reads", "test", "users")

    def __init__(self, number: int, test: Test, binding: tuple[Any, ...]) -> None:
        self.number = number
        self.test = test
        self.binding = binding
        self.can_be = self.can_fail = False
        self.reads: set[int] = set()  # every variable that it has ever read
        self.users: list[int] = []  # cases that it stands in


class Literal(NamedTuple):
    """quant: ``atom`` (one atom), ``not``, or how the parts are quantified."""

    quant: str
    parts: tuple["Literal | Atom", ...]


def can_be(node: "Literal | Atom") -> bool:
    if isinstance(node, Atom):
        return node.can_be
    if node.quant == "some":
        return any(can_be(part) for part in node.parts)
    if node.quant == "every":
        return all(can_be(part) for part in node.parts)
    return all(can_fail(part) for part in node.parts)  # none, not


def can_fail(node: "Literal | Atom") -> bool:
    if isinstance(node, Atom):
        return node.can_fail
    if node.quant == "some":
        return all(can_fail(part) for part in node.parts)
    return any((can_fail if node.quant == "every" else can_be)(part) for part in node.parts)


class Watching:
    """The literals of some cases in one changing state, atoms shared. ``flux``: variables that a running step writes,
    with their old and new values."""

    def __init__(self, world: World, flow: ExcursionFlow, cases: Sequence[Case]) -> None:
        self.world = world
        self.state = State(0)
        self.state.values = list(flow.start)
        self.judge = Judge(world, self.state, flow.excursion)
        self.flux: dict[int, tuple[Any, Any]] = {}
        self.atoms: dict[tuple[Any, ...], Atom] = {}
        self.by_var: dict[int, set[Atom]] = {}
        self.running: list[Atom] = []  # atoms of what runs rather than of the state
        self.cases = cases
        self.literals: list[tuple[Literal | Atom, ...]] = []
        for number, case in enumerate(cases):
            self.literals.append(tuple(self._literal(test, case.binding, number) for test in case.tests))

    def _literal(self, test: Test, binding: tuple[Any, ...], case: int) -> "Literal | Atom":
        first, second = test.a, test.b
        if isinstance(first, Quantified):
            nested = isinstance(second, Quantified)
            parts: list[Literal | Atom] = []
            for thing in self.judge.among(first):
                plain = test._replace(a=thing, negated=test.negated and not nested)
                part = self._literal(plain, binding, case)
                parts.append(Literal("not", (part,)) if nested and test.negated else part)
            return Literal(first.quant, tuple(parts))
        if isinstance(second, Quantified):
            things = self.judge.among(second)
            return Literal(
                second.quant, tuple(self._literal(test._replace(b=thing), binding, case) for thing in things)
            )
        a, b = _bound(first, binding), _bound(second, binding)
        key = (test.op, test.negated, a, b, test.manner, test.prop, test.value, _slots(test, binding))
        atom = self.atoms.get(key)
        if atom is None:
            atom = self.atoms[key] = Atom(len(self.atoms), test, binding)
            if test.op in ("working", "moving"):
                self.running.append(atom)
        if not atom.users or atom.users[-1] != case:
            atom.users.append(case)
        return atom

    def look(self, atoms: Iterable[Atom]) -> set[int]:
        """Evaluate atoms again; the cases that they stand in."""
        touched: set[int] = set()
        for atom in atoms:
            atom.can_be = atom.can_fail = False
            self._explore(atom, frozenset())
            touched.update(atom.users)
        return touched

    def _explore(self, atom: Atom, chosen: frozenset[int]) -> None:
        """Every choice between old and new for what the literal reads."""
        judge, values = self.judge, self.state.values
        judge.reads = []
        truth = judge.holds(atom.test, atom.binding)
        reads = [var for var in dict.fromkeys(judge.reads) if var >= 0]
        for var in reads:
            if var not in atom.reads:
                atom.reads.add(var)
                self.by_var.setdefault(var, set()).add(atom)
        for var in reads:
            if var in self.flux and var not in chosen:
                kept = values[var]
                for value in self.flux[var]:
                    values[var] = value
                    self._explore(atom, chosen | {var})
                    if atom.can_be and atom.can_fail:
                        break
                values[var] = kept
                return
        if truth:
            atom.can_be = True
        else:
            atom.can_fail = True

    def holds(self, case: int) -> bool:
        """Whether each of a case's literals can be true."""
        return all(can_be(literal) for literal in self.literals[case])

    def affected(self, variables: Iterable[int]) -> dict[Atom, None]:
        """The atoms that have read any of these variables, in a steady order."""
        found: set[Atom] = set()
        for var in variables:
            found |= self.by_var.get(var, set())
        return dict.fromkeys(sorted(found, key=lambda atom: atom.number))

    def begin(self, step: Step) -> dict[Atom, None]:
        """A step starts; the atoms to look at."""
        for change in step.changes:
            self.flux[change.var] = (self.state.values[change.var], change.after)
        doing = self.doing(step)
        self.judge.working += doing[0]
        self.judge.moving += doing[1]
        return {**self.affected(c.var for c in step.changes), **self._of_running(doing)}

    def finish(self, step: Step) -> dict[Atom, None]:
        """A step that has begun ends."""
        for change in step.changes:
            self.flux.pop(change.var, None)
            self.state.values[change.var] = change.after
        doing = self.doing(step)
        for pair in doing[0]:
            self.judge.working.remove(pair)
        for pair in doing[1]:
            self.judge.moving.remove(pair)
        return {**self.affected(c.var for c in step.changes), **self._of_running(doing)}

    def _of_running(self, doing: tuple[list[Any], list[Any]]) -> dict[Atom, None]:
        return dict.fromkeys(self.running) if self.running and (doing[0] or doing[1]) else {}

    def doing(self, step: Step) -> tuple[list[tuple[Thing, Thing]], list[tuple[Thing, Thing]]]:
        """Who works on what, and who is on the way from and to where, while a step runs."""
        if not self.running or step.action is None:
            return [], []
        keep, self.judge.reads = self.judge.reads, []
        things = [self.judge.term(term, step.binding) for term in step.action.works_on]
        self.judge.reads = keep
        doers = [one for one in step.binding[:2] if isinstance(one, Thing)]
        working = [(doer, thing) for thing in things if thing is not None for doer in doers]
        moving = []
        for change in step.changes:
            variable = self.world.variables[change.var]
            if variable.sort == "place" and change.before is not None and _location(change.after):
                moving += [(variable.thing, node) for node in (change.before, change.after) if _location(node)]
        return working, moving


def _location(value: Any) -> bool:
    return isinstance(value, Thing) and value.sort == "location"


def _bound(term: Any, binding: tuple[Any, ...]) -> Any:
    return binding[term.index] if isinstance(term, Slot) and term.index < len(binding) else term


def _slots(test: Test, binding: tuple[Any, ...]) -> Any:
    """What tells apart two atoms with one value formula that speaks of slots."""
    return None if test.value is None or type(test.value).__name__ == "Const" else binding


class Held(NamedTuple):
    """A stretch in which a case's literals can all be true, in seconds. began, ended: the step by which (None: from the
    excursion's start, to its end)."""

    since: Fraction
    began: Step | None
    until: Fraction
    ended: Step | None


def stretches(
    world: World, flow: ExcursionFlow, start: Sequence[Fraction], end: Sequence[Fraction], cases: Sequence[Case]
) -> tuple[list[list[Held]], Watching]:
    """For each case its stretches, in order, and the literals with all that they have read."""
    watching = Watching(world, flow, cases)
    found: list[list[Held]] = [[] for _ in cases]
    since: dict[int, tuple[Fraction, Step | None]] = {}
    zero = Fraction(0)
    watching.look(watching.atoms.values())
    for case in range(len(cases)):
        if watching.holds(case):
            since[case] = (zero, None)

    def note(atoms: dict[Atom, None], steps: list[Step], at: Fraction) -> None:
        if not atoms:
            return
        for case in sorted(watching.look(atoms)):
            true = watching.holds(case)
            if true and case not in since:
                since[case] = (at, _cause(watching, case, steps))
            elif not true and case in since:
                begun, by = since.pop(case)
                found[case].append(Held(begun, by, at, _cause(watching, case, steps)))

    for at, begins, ends in moments(flow, start, end):
        over = [step for step in ends if start[step.index] < at]
        atoms: dict[Atom, None] = {}
        for step in over:
            atoms |= watching.finish(step)
        note(atoms, over, at)
        for step in begins:
            if end[step.index] == at:
                note(watching.begin(step), [step], at)
                note(watching.finish(step), [step], at)
        later = [step for step in begins if end[step.index] > at]
        atoms = {}
        for step in later:
            atoms |= watching.begin(step)
        note(atoms, later, at)
    over_at = max(end, default=zero)
    for case, (begun, by) in since.items():
        found[case].append(Held(begun, by, over_at, None))
    return found, watching


def moments(
    flow: ExcursionFlow, start: Sequence[Fraction], end: Sequence[Fraction]
) -> Iterator[tuple[Fraction, list[Step], list[Step]]]:
    """Every instant at which something begins or ends: the steps that begin then, and those that end then."""
    begins: dict[Fraction, list[Step]] = {}
    ends: dict[Fraction, list[Step]] = {}
    for step in flow.steps:
        begins.setdefault(start[step.index], []).append(step)
        ends.setdefault(end[step.index], []).append(step)
    for at in sorted({*begins, *ends}):
        yield at, begins.get(at, []), ends.get(at, [])


def _cause(watching: Watching, case: int, steps: list[Step]) -> Step | None:
    """Of the steps that begin or end just then, the last that has to do with the case."""
    reads = relevant(watching, case)
    mine = [step for step in steps if any(change.var in reads for change in step.changes)]
    return (mine or steps)[-1]


def relevant(watching: Watching, case: int) -> set[int]:
    """Every variable that a case's literals have read."""
    return {var for literal in watching.literals[case] for atom in atoms_in(literal) for var in atom.reads}


def atoms_in(node: "Literal | Atom") -> Iterator[Atom]:
    if isinstance(node, Atom):
        yield node
        return
    for part in node.parts:
        yield from atoms_in(part)
