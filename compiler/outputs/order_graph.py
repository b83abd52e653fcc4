"""Why one step comes after another, as data: the nodes of an excursion's order diagram and the links between them.

A *node* is a written step with the inserted steps that lead up to it or follow it (`folding`). A *link* says why its
head comes after its tail. Nothing here knows of paper."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Fallback, Mark, Task, Thing, World
from jackstay.outputs.folding import fold
from jackstay.outputs.views import View, is_idle
from jackstay.timing.schedule import mark_between, own_predecessors

OWN, CALL, AFTER, BESIDE, CARD = "own", "call", "after", "beside", "card"


@dataclass(slots=True)
class Node:
    """before, after: inserted steps in the same node. sort: ``single`` one actor; ``joint`` a heading's several doers;
    ``meeting`` two of different headings; ``handover`` a thing goes from one to the other; ``inserted`` a way or a tool
    that others wait for; ``hole`` not yet written. handed: what goes over."""

    step: Step
    sort: str
    before: list[Step] = field(default_factory=list)
    after: list[Step] = field(default_factory=list)
    handed: list[Thing] = field(default_factory=list)
    critical: bool = False

    @property
    def index(self) -> int:
        return self.step.index

    @property
    def task(self) -> Task:
        return self.step.entry.task

    @property
    def steps(self) -> list[Step]:
        return [*self.before, self.step, *self.after]


@dataclass(frozen=True, slots=True)
class Link:
    """tail, head: indices of nodes. sort: ``own`` the actor's next step; ``call`` of ``mark``; ``after`` the text says
    so of the two tasks; ``beside`` the head runs while the tail does. critical: the critical chain goes along it."""

    tail: int
    head: int
    sort: str
    actor: Thing | None = None
    mark: Mark | None = None
    critical: bool = False


@dataclass(slots=True)
class Card:
    """A fallback. callers: (node, outcome) of each step that may call it, in step order. home: the node beside which it
    stands (None: nobody calls it and it replaces nothing that is flown)."""

    fallback: Fallback
    callers: list[tuple[int, str]]
    home: int | None


@dataclass(slots=True)
class Graph:
    """nodes: by the index of their written step, in the proven order."""

    view: View
    nodes: dict[int, Node]
    links: list[Link]
    cards: list[Card]
    home: dict[int, int]


def graph_of(view: View) -> Graph:
    """Of an excursion whose order is not circular."""
    assert view.times is not None
    flow = view.flow
    home = fold(view)
    critical = set(view.times.critical)
    nodes: dict[int, Node] = {}
    for step in flow.steps:
        if home[step.index] == step.index:
            handed = handed_over(view.world, step)
            nodes[step.index] = Node(step, _sort(step, handed), handed=handed)
    for step in flow.steps:
        node = nodes[home[step.index]]
        node.critical |= step.index in critical
        if node.step is not step and not is_idle(step):
            (node.before if step.index < node.index else node.after).append(step)
    return Graph(view, nodes, _reduced(nodes, _links(view, home)), _cards(view, nodes, home), home)


def _sort(step: Step, handed: list[Thing]) -> str:
    if step.entry.hole:
        return "hole"
    if step.inserted or step.action is None:
        return "inserted"
    doers = [actor for actor in step.cast if actor in step.entry.block.doers]
    if len(doers) > 1:
        return "joint"
    if handed:
        return "handover"
    return "meeting" if company(step) else "single"


def company(step: Step) -> list[Thing]:
    """Who takes part beside the first of the cast and whoever merely runs one of them."""
    runners = {actor.runner for actor in step.cast if actor.runner is not None}
    return [actor for actor in step.cast[1:] if actor not in runners or actor in step.entry.block.doers]


def handed_over(world: World, step: Step) -> list[Thing]:
    """What hangs on one of the cast before the step and on another of it after, in the order declared."""
    cast = set(step.cast)
    found: list[Thing] = []
    if len(cast) < 2:
        return found
    for change in step.changes:
        var = world.variables[change.var]
        if var.sort != "held":
            continue
        before = {held.holder for held in change.before or ()} & cast
        after = {held.holder for held in change.after or ()} & cast
        if before - after and after - before:
            found.append(var.thing)
    return sorted(found, key=lambda thing: thing.index)


def _links(view: View, home: dict[int, int]) -> list[Link]:
    flow = view.flow
    assert view.times is not None
    chain = [home[i] for i in view.times.critical]
    critical = set(pairwise(chain))
    own = own_predecessors(flow)
    found: dict[tuple[int, int, str, Thing | None, Mark | None], Link] = {}

    def add(tail: int, head: int, sort: str, actor: Thing | None = None, mark: Mark | None = None) -> None:
        a, b = home[tail], home[head]
        if a != b:
            found.setdefault((a, b, sort, actor, mark), Link(a, b, sort, actor, mark, (a, b) in critical))

    for step in flow.steps:
        i = step.index
        for actor, p in own[i].items():
            add(p, i, OWN, actor)
        for p in flow.predecessors[i]:
            mark = mark_between(flow, step, p)
            if mark is not None:
                add(p, i, CALL, None, mark)
            elif p not in own[i].values():
                add(p, i, AFTER)
    for inner, outer in flow.companions:
        add(outer, inner, BESIDE, None, mark_between(flow, flow.steps[inner], outer))
    return list(found.values())


def _reduced(nodes: dict[int, Node], links: list[Link]) -> list[Link]:
    """Without what the text says of whole tasks where other links say it already, step by step."""
    if not any(link.sort == AFTER for link in links):
        return links
    into: dict[int, list[Link]] = {index: [] for index in nodes}
    for link in links:
        if link.sort != BESIDE:
            into[link.head].append(link)
    reach: dict[int, int] = {}  # node -> all before it and itself, a bit for each node
    bit = {index: 1 << number for number, index in enumerate(nodes)}
    dropped: set[int] = set()
    for index in _in_order(nodes, into):
        known = bit[index]
        for link in into[index]:
            known |= reach[link.tail]
        reach[index] = known
        for link in into[index]:
            others = (one for one in into[index] if one.tail != link.tail or one.sort != AFTER)
            if link.sort == AFTER and any(reach[one.tail] & bit[link.tail] for one in others):
                dropped.add(id(link))
    return [link for link in links if id(link) not in dropped]


def _in_order(nodes: dict[int, Node], into: dict[int, list[Link]]) -> list[int]:
    """The nodes, each after all that it comes after; `folding` makes no circle."""
    waiting = {index: len(into[index]) for index in nodes}
    out: dict[int, list[int]] = {index: [] for index in nodes}
    for index, links in into.items():
        for link in links:
            out[link.tail].append(index)
    ready = [index for index in nodes if not waiting[index]]
    for index in ready:
        for head in out[index]:
            waiting[head] -= 1
            if not waiting[head]:
                ready.append(head)
    return ready


def _cards(view: View, nodes: dict[int, Node], home: dict[int, int]) -> list[Card]:
    found = []
    for fallback in view.excursion.fallbacks:
        callers = [
            (home[_written(view.flow, steps).index], answer.outcome)
            for _, steps in sorted(view.of_entry.items())
            for answer in steps[0].entry.answers
            if answer.fallback is fallback
        ]
        beside = callers[0][0] if callers else None
        if beside is None:
            instead = [index for index, node in nodes.items() if node.task in fallback.instead]
            beside = instead[0] if instead else None
        found.append(Card(fallback, callers, beside))
    return found


def _written(flow: ExcursionFlow, steps: list[Step]) -> Step:
    return next((step for step in reversed(steps) if not step.inserted), steps[-1])
