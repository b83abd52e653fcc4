"""A small reference semantics: every timing of a small plan, tried one by one.

It shares no code with the compiler. A plan is a `Plan` of this module; `writing` makes the text that the compiler
reads from the same description. The meaning is that of the language reference, section 12:

- a step runs from a start to an end; starts and ends come in every order that the written order allows;
- needs hold from the start up to the effects, in a state where whatever another running step writes has no value;
- effects happen at the end, one after the other, the laws judged after each;
- for ``never``, room, counts, sums and line lengths what a running step writes has its old and its new value; for line
  lengths a step's own effects take these one after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache, cached_property
from itertools import combinations, product
from typing import Any, NamedTuple

GROUND = "ground"


class Hold(NamedTuple):
    """limit None: any. counting: the property that weighs."""

    manner: str
    limit: int | None
    kind: str
    counting: str | None = None


class Kind(NamedTuple):
    name: str
    sort: str  # actor, item, location
    parents: tuple[str, ...] = ()
    holds: tuple[Hold, ...] = ()
    carries: int | None = None  # kg
    admits: str | None = None  # a kind; the limit is the thing's room
    ground: bool = False
    ends: bool = False
    counts: tuple[str, ...] = ()  # count properties: never below nothing


class Lit(NamedTuple):
    """op: on, at, reach, from, to, is, least, working, moving. a, b: a name, a slot, actor, helper, here, or
    (quantifier, kind) with quantifier none, some or every. value: a word, a number, or ``("less", n)``: the old value
    less n."""

    op: str
    a: Any
    b: Any = None
    manner: str | None = None
    prop: str | None = None
    value: Any = None
    neg: bool = False
    afar: bool = False


class Action(NamedTuple):
    """words: the pattern; a pair is a slot (name, kinds). joined: slots whose actors are cast too."""

    words: tuple[Any, ...]
    by: str
    needs: tuple[Lit, ...] = ()
    makes: tuple[Lit, ...] = ()
    helped: str | None = None
    joined: tuple[str, ...] = ()
    works_on: str | None = None
    serves: str | None = None  # written out as the text of the line
    may: bool = False  # it may fail: then it has none of its effects

    def slots(self) -> list[tuple[str, tuple[str, ...]]]:
        return [w for w in self.words if not isinstance(w, str)]


class Rule(NamedTuple):
    """never: not all of tests at once. always: the first test, whenever the others."""

    always: bool
    tests: tuple[Lit, ...]
    slots: tuple[tuple[str, str], ...] = ()


@dataclass
class Thing:
    name: str
    kind: str
    props: dict[str, Any] = field(default_factory=dict)
    held: tuple[tuple[str, str], ...] = ()  # (manner, holder)
    place: str | None = None
    ends: tuple[str | None, str | None] = (None, None)
    near: tuple[str, ...] = ()
    runner: str | None = None
    reaches: tuple[str, ...] = ()


@dataclass
class Step:
    """on: numbers of the steps waited for. beside: numbers of the steps that it runs within. heading: written as an
    arrival in a heading. An argument ``any NAME`` stands for one of a group."""

    action: Action
    actor: str
    helper: str | None
    args: dict[str, str]
    task: int = 0
    on: tuple[int, ...] = ()
    beside: tuple[int, ...] = ()
    heading: bool = False


@dataclass
class Fallback:
    """steps: its own; they wait for each other by ``OWN`` + number, for the plan's steps by number. then: tasks.
    caller: the plan's step after which it may begin. fails: when that step has failed, else from its mark."""

    steps: list[Step]
    then: tuple[int, ...]
    caller: int
    fails: bool


OWN = 1000
HEAVIEST = 4  # kg: what a thing may be filled up to


@dataclass
class Plan:
    """ranks: of the tasks that may be dropped. along: task -> tasks without which it is dropped too. out, home: what
    the end leaves outside and what it has brought inside.

    after: task -> tasks that are over before it. done: task -> literals. paths: (place, place, metres). groups: name ->
    its members, alike but for what happens to them."""

    kinds: dict[str, Kind]
    things: dict[str, Thing]
    paths: list[tuple[str, str, int]]
    rules: list[Rule]
    steps: list[Step]
    after: dict[int, tuple[int, ...]] = field(default_factory=dict)
    done: dict[int, tuple[Lit, ...]] = field(default_factory=dict)
    left: tuple[Lit, ...] = ()  # how the end is declared to be
    ranks: dict[int, str] = field(default_factory=dict)
    along: dict[int, tuple[int, ...]] = field(default_factory=dict)
    fallbacks: list[Fallback] = field(default_factory=list)
    out: tuple[str, ...] = ()
    home: tuple[str, ...] = ()
    groups: dict[str, tuple[str, ...]] = field(default_factory=dict)
    shipped: bool = False  # written on the vocabularies that come with the compiler
    bystanders: tuple[str, ...] = ()  # actors who are not in the crew


Var = tuple[str, str]
Values = dict[Var, Any]
BLUR = object()  # the value of what another running step writes


class Broken(Exception):
    """A law, a need or a rule is broken; the text says which."""


class World:
    """What does not change: kinds, places, distances, and questions to a state."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.things = plan.things
        self.sorts = {n: plan.kinds[t.kind].sort for n, t in plan.things.items()}
        self.is_a = cache(self._is_a)
        self.flag = cache(self._flag)
        self.hold = cache(self._hold)
        self.stations = cache(self._stations)
        self.holds_of = cache(self._holds_of)
        self.actors = [t.name for t in plan.things.values() if self.sort(t.name) == "actor"]
        self.items = [t.name for t in plan.things.values() if self.sort(t.name) == "item"]

    @cached_property
    def apart(self) -> dict[tuple[str, str], int]:
        return self._distances()

    @cached_property
    def lined(self) -> bool:
        return any(self.flag(n, "ends") for n in self.items)

    @cached_property
    def limited(self) -> list[tuple[str, Hold, list[str], list[str]]]:
        return list(self._limited())

    @cached_property
    def rooms(self) -> list[tuple[str, list[str], int]]:
        """Each place with a room that those it admits could pass."""
        out = [
            (n, [a for a in self.actors if self.a(a, (self.flag(n, "admits"),))], t.props["room"])
            for n, t in self.things.items()
            if self.flag(n, "admits")
        ]
        return [(n, actors, room) for n, actors, room in out if len(actors) > room]

    @cached_property
    def carriers(self) -> list[tuple[str, int]]:
        """Each carrier with a limit that all there is, as heavy as it may become, could pass."""
        heavy = sum(max(t.props.get("mass", 0), HEAVIEST) for t in self.things.values() if "mass" in t.props)
        out = [(n, self.flag(n, "carries")) for n in self.things]
        return [(n, limit) for n, limit in out if limit is not None and heavy > limit]

    def _limited(self) -> Iterator[tuple[str, Hold, list[str], list[str]]]:
        """Each holder with a limit that its possible contents could pass."""
        for name, thing in self.things.items():
            for hold in self.holds_of(thing.kind):
                items = [i for i in self.items if self.a(i, (hold.kind,))]
                riders = [a for a in self.actors if a != name and self.hold(a, name, None) is hold]
                heavy = sum(self.things[i].props.get(hold.counting, 1) if hold.counting else 1 for i in items) + len(
                    riders
                )
                if hold.limit is not None and heavy > hold.limit:
                    yield name, hold, items, riders

    def sort(self, name: str) -> str:
        return self.sorts[name]

    def _is_a(self, kind: str, other: str) -> bool:
        if kind == other or other in ("thing", self.plan.kinds[kind].sort):
            return True
        return any(self._is_a(parent, other) for parent in self.plan.kinds[kind].parents)

    def a(self, name: str, kinds: Iterable[str]) -> bool:
        return any(self.is_a(self.things[name].kind, k) for k in kinds)

    def kind(self, name: str) -> Kind:
        return self.plan.kinds[self.things[name].kind]

    def _flag(self, name: str, what: str) -> Any:
        """A kind's own or inherited setting."""
        todo = [self.kind(name)]
        for kind in todo:
            if getattr(kind, what):
                return getattr(kind, what)
            todo += [self.plan.kinds[p] for p in kind.parents]
        return None

    def _holds_of(self, kind: str) -> tuple[Hold, ...]:
        out = list(self.plan.kinds[kind].holds)
        for parent in self.plan.kinds[kind].parents:
            out += [h for h in self._holds_of(parent) if h not in out]
        return tuple(out)

    def _hold(self, item: str, holder: str, manner: str | None) -> Hold | None:
        for hold in self.holds_of(self.things[holder].kind):
            if manner in (None, hold.manner) and self.a(item, (hold.kind,)):
                return hold
        return None

    def _stations(self, place: str) -> frozenset[str]:
        return frozenset({place, *self.things[place].near})

    def _distances(self) -> dict[tuple[str, str], int]:
        """Metres between places; a fitting stands at the nearest of the places within its reach."""
        places = [t for t in self.things if self.sort(t) == "location"]
        walk = {(p, p): 0 for p in places}
        for a, b, metres in self.plan.paths:
            walk[a, b] = walk[b, a] = metres
        for mid in places:
            for a in places:
                for b in places:
                    if (a, mid) in walk and (mid, b) in walk:
                        walk[a, b] = min(walk.get((a, b), 10**9), walk[a, mid] + walk[mid, b])
        out = {}
        for a in places:
            for b in places:
                stands = [
                    walk[p, q]
                    for p in self.things[a].near or (a,)
                    for q in self.things[b].near or (b,)
                    if (p, q) in walk
                ]
                if self.stations(a) & self.stations(b):
                    out[a, b] = 0
                elif stands:
                    out[a, b] = min(stands)
        return out

    def start(self) -> Values:
        values: Values = {}
        for thing in self.things.values():
            sort = self.sort(thing.name)
            if sort == "actor":
                values["place", thing.name] = thing.place
            if sort == "item":
                values["held", thing.name] = thing.held
            if self.flag(thing.name, "ends"):
                values["from", thing.name], values["to", thing.name] = thing.ends
            for prop, value in thing.props.items():
                values[prop, thing.name] = value
        return values


class View:
    """A state as somebody sees it: each variable has a tuple of values that count as true; none where it is blurred."""

    def __init__(
        self, world: World, values: Values, flux: dict[Var, Any] | None = None, blurred: Iterable[Var] = ()
    ) -> None:
        self.world = world
        self.values = values
        self.flux = flux or {}
        self.turns = [[var] for var in self.flux]  # what changes in turn; each by itself unless somebody knows better
        self.blurred = set(blurred)

    def options(self, var: Var) -> tuple[Any, ...]:
        if var in self.blurred:
            return ()
        if var in self.flux and self.flux[var] != self.values[var]:
            return (self.values[var], self.flux[var])
        return (self.values[var],)

    def anchors(self, thing: str) -> list[str]:
        """All that a thing may hang on directly."""
        out: list[str] = []
        if ("place", thing) in self.values:
            out += [p for p in self.options(("place", thing)) if p is not None]
        for held in self.options(("held", thing)) if ("held", thing) in self.values else ():
            out += [holder for _, holder in held]
        if ("from", thing) in self.values:
            out += [e for end in ("from", "to") for e in self.options((end, thing)) if e is not None]
        return out

    def below(self, thing: str) -> set[str]:
        """The thing and all that carries it, as far as that has a value."""
        out = {thing}
        todo = [thing]
        for node in todo:
            for anchor in self.anchors(node):
                if anchor not in out:
                    out.add(anchor)
                    todo.append(anchor)
        return out

    def aboard(self, thing: str) -> set[str]:
        """The thing and all that it may be aboard of: by its attachments, not by a line's ends."""
        out = {thing}
        todo = [thing]
        for node in todo:
            sort = self.world.sort(node)
            if sort == "location":
                continue
            for value in self.options(("place" if sort == "actor" else "held", node)):
                for below in [value] if sort == "actor" else [holder for _, holder in value]:
                    if below is not None and below not in out:
                        out.add(below)
                        todo.append(below)
        return out

    def roots(self, thing: str) -> set[str]:
        return {n for n in self.below(thing) if self.world.sort(n) == "location"}

    def spots(self, thing: str) -> set[str]:
        """The places it may be at; of several holders the first counts, the others are within reach of that one."""
        if self.world.sort(thing) == "location":
            return {thing}
        if ("place", thing) in self.values:
            nodes = [p for p in self.options(("place", thing)) if p is not None]
        else:
            nodes = [held[0][1] for held in self.options(("held", thing)) if held]
            if not nodes and ("to", thing) in self.values:
                ends = [e for e in self.options(("to", thing)) if e] or [e for e in self.options(("from", thing)) if e]
                nodes = ends
        return {spot for node in nodes for spot in self.spots(node)}

    def meet(self, a: str, b: str) -> bool:
        first, second = self.below(a), self.below(b)
        if first & second:
            return True
        places = [n for n in first if self.world.sort(n) == "location"]
        others = [n for n in second if self.world.sort(n) == "location"]
        return any(self.world.stations(p) & self.world.stations(q) for p in places for q in others)

    def location(self, thing: str) -> str | None:
        """One place, along first holders."""
        for _ in range(20):
            if self.world.sort(thing) == "location":
                return thing
            anchors = self.anchors(thing)
            if not anchors:
                return None
            thing = anchors[0]
        return None


class Cast(NamedTuple):
    """Who a literal speaks of."""

    names: dict[str, str | None]
    here: Callable[[], str | None]

    def term(self, term: Any) -> Any:
        if term == "here":
            return self.here()
        return self.names.get(term, term) if isinstance(term, str) else term


def quantified(lit: Lit) -> bool:
    return isinstance(lit.a, tuple) or isinstance(lit.b, tuple)


def each(world: World, lit: Lit, crew: bool = False) -> Iterator[Lit]:
    """The literal of each thing of the kind. crew: of bystanders not."""
    side = "a" if isinstance(lit.a, tuple) else "b"
    for name in world.things:
        if world.a(name, (getattr(lit, side)[1],)) and not (crew and name in world.plan.bystanders):
            yield lit._replace(**{side: name})


def sure(view: View, lit: Lit, cast: Cast) -> bool:
    """Whether a literal is true, blurred values being true of nothing and false of nothing."""
    a, b = cast.term(lit.a), cast.term(lit.b)
    if a is None or (lit.b is not None and b is None):
        return False
    positive = _truth(view, lit, a, b)
    if not lit.neg:
        return positive
    return not positive and not any(v in view.blurred for v in _touched(lit, a))


def _touched(lit: Lit, a: str) -> list[Var]:
    if lit.op in ("is", "least"):
        return [(str(lit.prop), a)]
    return [("held", a), ("place", a), ("from", a), ("to", a)]


def _truth(view: View, lit: Lit, a: str, b: Any) -> bool:
    """True for some combination of the values that count."""
    if lit.op == "on":
        if ("place", a) in view.values:
            return b in view.options(("place", a))
        manners = {m for held in view.options(("held", a)) for m, holder in held if holder == b}
        if lit.manner is not None:
            return lit.manner in manners
        ends = [e for end in ("from", "to") if (end, a) in view.values for e in view.options((end, a))]
        return bool(manners) or b in ends
    if lit.op == "at":
        return any(r == b or b in view.world.things[r].near for r in view.roots(a))
    if lit.op == "reach":
        return view.meet(a, b)
    if lit.op in ("from", "to"):
        return b in view.options((lit.op, a))
    assert lit.prop is not None
    if lit.op == "is":
        return lit.value in view.options((lit.prop, a))
    return any(v >= lit.value for v in view.options((lit.prop, a)))


def possible(view: View, lit: Lit, cast: Cast) -> bool:
    """Whether a literal counts as true when old and new both do; a negation counts when some value makes it true.

    What is asked is whether something bad is so. That nobody is there is no better for a bystander."""
    if quantified(lit):
        quant = (lit.a if isinstance(lit.a, tuple) else lit.b)[0]
        if quant == "some":
            return any(possible(view, one, cast) for one in each(view.world, lit))
        if quant == "none":
            return all(possible(view, one._replace(neg=not one.neg), cast) for one in each(view.world, lit, crew=True))
        return all(possible(view, one, cast) for one in each(view.world, lit))
    a, b = cast.term(lit.a), cast.term(lit.b)
    if a is None or (lit.b is not None and b is None):
        return False
    if not lit.neg:
        return _truth(view, lit, a, b)
    if lit.op == "at":
        return any(r != b and b not in view.world.things[r].near for r in view.roots(a))
    if lit.op in ("is", "least", "from", "to"):
        var = (lit.prop or lit.op, a)
        return any(not _truth(View(view.world, {**view.values, var: v}), lit, a, b) for v in view.options(var))
    if ("place", a) in view.values:
        return any(v != b for v in view.options(("place", a)))
    assert lit.op == "on"
    parts = [v for v in (("held", a), ("from", a), ("to", a)) if v in view.values]
    return all(
        any(
            not _truth(
                View(view.world, {**view.values, **{p: (() if p[0] == "held" else None) for p in parts}, var: v}),
                lit,
                a,
                b,
            )
            for v in view.options(var)
        )
        for var in parts
    )


def limits(view: View) -> Iterator[str]:
    """What is over its limit, old and new values both counting."""
    world = view.world
    for name, hold, items, riders in world.limited:
        weight = 0
        for item in items:
            if any(
                holder == name and world.hold(item, holder, manner) is hold
                for held in view.options(("held", item))
                for manner, holder in held
            ):
                weight += world.things[item].props.get(hold.counting, 1) if hold.counting else 1
        weight += sum(1 for actor in riders if name in view.options(("place", actor)))
        if weight > (hold.limit or 0):
            yield f"{name} holds {weight} by {hold.manner}"
    spots = {a: view.spots(a) for a in world.actors} if world.rooms else {}
    for name, actors, room in world.rooms:
        there = [a for a in actors if name in spots[a]]
        if len(there) > room:
            yield f"{name} is crowded: {there}"
    if world.carriers:
        weighed = [n for n in (*world.items, *world.actors) if ("mass", n) in view.values]
        below = [(max(view.options(("mass", n)), default=0), n, view.aboard(n)) for n in weighed]
        for name, limit in world.carriers:
            load = sum(mass for mass, n, nodes in below if n != name and name in nodes)
            if load > limit:
                yield f"{name} carries {load}"
    if world.lined:
        for done in product(*(range(len(turn) + 1) for turn in view.turns)):
            made = {v: view.flux[v] for n, turn in zip(done, view.turns, strict=True) for v in turn[:n]}
            yield from _stretched(View(world, {**view.values, **made} if made else view.values, None, view.blurred))


def _stretched(view: View) -> Iterator[str]:
    """Lines whose points are further apart than they are long."""
    world = view.world
    for line in world.items:
        if ("from", line) not in view.values:
            continue
        points = [p for p in (view.location(anchor) for anchor in view.anchors(line)) if p is not None]
        for p, q in combinations(points, 2):
            if world.apart.get((p, q), 0) > world.things[line].props["length"]:
                yield f"{line} too short from {p} to {q}"
