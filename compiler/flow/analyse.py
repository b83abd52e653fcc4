"""The flow analysis: order first, then state, excursion after excursion."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.clocks import happens_before, set_clocks
from jackstay.flow.counts import check_counts
from jackstay.flow.ends import Ends, check_done, check_until
from jackstay.flow.laws import Distances
from jackstay.flow.order import Order
from jackstay.flow.races import Race, find_races
from jackstay.flow.records import ExcursionFlow, Flow, Step
from jackstay.flow.replay import Replay
from jackstay.flow.standing import check_rules
from jackstay.flow.start import check_start
from jackstay.flow.state import State
from jackstay.model.records import Entry, Excursion, World


def analyse(world: World) -> Flow:
    """Follow every thing through the campaign. Each excursion starts from the end of the one it names."""
    flow = Flow(world)
    distances = Distances(world)
    written = State.written(world)
    flow.problems += check_start(world, written, distances)
    ends: dict[Excursion, State] = {}
    flows: list[ExcursionFlow] = []
    states: list[State] = []
    for excursion in world.excursions:
        start = written
        if excursion.previous is not None:
            start = ends.get(excursion.previous, written)
        one, state = _fly(world, excursion, start, distances)
        flow.excursions.append(one)
        ends[excursion] = state
        if one.complete:
            flows.append(one)
            states.append(state)
    def report(rule: str, at: Any, **facts: Any) -> None:
        flow.problems.append(Problem(rule, at, facts))

    check_until(world, flows, states, report)
    return flow


def entries_flown(excursion: Excursion) -> list[Entry]:
    """The nominal choreography: every task that has no guard, droppable ones kept."""
    if all(task.guard is None for task in excursion.tasks):
        return excursion.entries
    return [e for e in excursion.entries if e.task.guard is None]


def _fly(world: World, excursion: Excursion, start: State, distances: Distances) -> tuple[ExcursionFlow, State]:
    entries = entries_flown(excursion)
    order = Order(excursion, entries)
    if order.circle:
        one = ExcursionFlow(excursion, {}, complete=False)
        one.start = list(start.values)
        one.end = list(start.values)
        facts = {"circle": [(entries[i], edge, entries[edge.before]) for i, edge in order.circle]}
        one.problems.append(Problem("circular-wait", entries[order.circle[0][0]].at, facts))
        one.problems.append(Problem("not-decided", excursion.decl, {"what": "circle", "excursion": excursion}))
        return one, start
    state = start.copy()
    replay = Replay(world, excursion, order, state, distances)
    one = replay.run()
    one.companions = [(s, replay.main[m]) for s, m in one.companions if m in replay.main]
    set_clocks(one)
    races = find_races(one)
    _judge_races(replay, races)
    check_counts(replay)
    check_rules(replay, start)
    check_done(order, replay, one, world, start)
    Ends(world, replay, start).check()
    _undecided(one)
    return one, state


def _judge_races(replay: Replay, races: list[Race]) -> None:
    """One finding for each pair of written steps. Where an unordered step could change what a failed need read, the
    failure is a matter of timing, and the race tells it."""
    flow = replay.flow
    told: dict[tuple[int, int], Problem] = {}
    pairs_by_var: set[tuple[int, frozenset[int]]] = set()
    racing: dict[int, list[Step]] = {}
    for race in races:
        racing.setdefault(race.var, []).append(race.first)
        key = (race.first.entry.index, race.second.entry.index)
        who = (race.var, frozenset(c for c, _ in (*race.first.positions, *race.second.positions)))
        if key in told:
            told[key].facts["vars"].append(race.var)
            continue
        if who in pairs_by_var:
            continue
        pairs_by_var.add(who)
        problem = Problem("may-come-first", race.second.entry.at,
                          {"flow": flow, "first": race.first, "second": race.second, "vars": [race.var]})
        told[key] = problem
        flow.problems.append(problem)
    dropped = set()
    writers: dict[int, list[Step]] = {}
    if racing:
        for step in flow.steps:
            for change in step.changes:
                writers.setdefault(change.var, []).append(step)
    for failed, step, reads in replay.failed_reads:
        for var in reads:
            if var in racing and any(
                w is not step and not happens_before(w, step) and not happens_before(step, w) for w in writers.get(var, ())
            ):
                dropped.add(id(failed))
    if dropped:
        flow.problems[:] = [p for p in flow.problems if id(p) not in dropped]


def _undecided(flow: ExcursionFlow) -> None:
    """What this analysis does not cover is said, once for each construct, with its place."""
    excursion = flow.excursion

    def tell(at: Any, **facts: Any) -> None:
        flow.problems.append(Problem("not-decided", at, {"excursion": excursion, **facts}))

    droppable = [t for t in excursion.tasks if t.rank != "required" and t.guard is None]
    if droppable:
        tell(droppable[0].decl, what="dropped", tasks=[t.name for t in droppable])
    for task in excursion.tasks:
        if task.guard is not None:
            tell(task.guard.at, what="guard", task=task)
    for fallback in excursion.fallbacks:
        tell(fallback.decl, what="fallback", fallback=fallback)
    if excursion.starts == "promise":
        tell(excursion.starts_at, what="promise", previous=excursion.previous)
