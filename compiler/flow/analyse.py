"""The flow analysis: order first, then state, excursion after excursion."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.answers import check_answers
from jackstay.flow.choices import check_choices
from jackstay.flow.clocks import happens_before, set_clocks
from jackstay.flow.counts import check_counts
from jackstay.flow.dropping import Flight, Fly, StartAfter, check_drops, guard_holds, several_droppable
from jackstay.flow.ends import Ends, check_done, check_until
from jackstay.flow.fallbacks import FlyFrom, check_fallbacks, check_one
from jackstay.flow.forms import check_forms
from jackstay.flow.laws import Distances
from jackstay.flow.lengths import check_lines
from jackstay.flow.mending import add_mends
from jackstay.flow.order import Order
from jackstay.flow.promises import check_promise, promised
from jackstay.flow.races import Race, find_carried_off, find_races
from jackstay.flow.records import ExcursionFlow, Flow, Step
from jackstay.flow.replay import Replay
from jackstay.flow.standing import check_rules
from jackstay.flow.start import check_start
from jackstay.flow.state import State
from jackstay.model.records import Entry, Excursion, Fallback, Task, World
from jackstay.source.spans import Span

if TYPE_CHECKING:
    from jackstay.flow.without import Campaign


def _closed(world: World, state: State) -> State:
    """A state that a plan may start from: what spreads by touch has spread."""
    if not world.spreads:
        return state
    from jackstay.flow.spreads import closed

    return closed(world, state)


class Ways:
    """How excursions are followed, and what is worked out once for a world. (`keeping` has ways of its own: they give
    what they found before.)"""

    def __init__(self, world: World) -> None:
        self.world = world
        self.distances = Distances(world)
        self.written = _closed(world, State.written(world))
        self.start_problems = check_start(world, self.written, self.distances)

    def fly(self, excursion: Excursion, start: State, dropped: frozenset[Task], kind: type[Replay]) -> Flight:
        """`fly` in this world."""
        return fly(self.world, excursion, start, self.distances, dropped, kind)

    def judge(self, flight: Flight, fallback: Fallback, dropped: frozenset[Task] = frozenset()) -> list[Problem]:
        """`check_one` in this world."""
        return check_one(self.world, flight, fallback, flying_from(self.world, self.distances), dropped)

    def campaign(
        self, flights: dict[Excursion, Flight], sound: set[Excursion], fly: Fly, start_after: StartAfter
    ) -> "Campaign":
        """What the flights are compared with where tasks are dropped."""
        from jackstay.flow.without import Campaign

        return Campaign(self.world, flights, sound, fly, start_after)


def analyse(world: World, ways: Ways | None = None) -> Flow:
    """Follow every thing through the campaign. Each excursion starts from the end of the one it names."""
    flow = Flow(world)
    ways = ways or Ways(world)
    written = ways.written
    flow.problems += ways.start_problems
    flights: dict[Excursion, Flight] = {}
    kind = _replays(world)
    begun: set[Excursion] = set()  # those whose start is known
    for excursion in world.excursions:
        previous = flights.get(excursion.previous) if excursion.previous is not None else None
        if previous is not None and not _leads_on(excursion, previous, begun):
            flight = _not_begun(excursion, previous)
        else:
            begun.add(excursion)
            start = _start_after(world, excursion, previous, frozenset()) if previous is not None else written
            flight = ways.fly(excursion, start, frozenset(), kind)
        flights[excursion] = flight
        flow.excursions.append(flight.flow)
        if world.forms:
            check_forms(world, flight.flow)
    flown = [f for f in flights.values() if f.flow.complete]

    def report(rule: str, at: Span, /, **facts: Any) -> None:
        flow.problems.append(Problem(rule, at, facts))

    for flight in flights.values():
        if flight.replay is not None:
            add_mends(flight.replay)
    check_until(world, [f.flow for f in flown], [f.end for f in flown], report)

    for excursion in {e.previous: e for e in world.excursions if e.starts == "promise" and e.previous in flights}:
        assert excursion is not None
        made = flights[excursion]
        promise = promised(world, excursion, made.start, frozenset())
        if made.flow.complete:
            check_promise(excursion, made.start, promise, made.flow, made.end, world)
    check_fallbacks(flights, ways.judge)
    check_drops(
        world,
        flights,
        lambda flights, sound: ways.campaign(
            flights,
            sound,
            lambda excursion, start, dropped: ways.fly(excursion, start, dropped, kind),
            lambda excursion, before, dropped: _start_after(world, excursion, before, dropped),
        ),
        lambda flight, dropped: [
            problem for fallback in flight.flow.excursion.fallbacks for problem in ways.judge(flight, fallback, dropped)
        ],
    )
    return flow


def flying_from(world: World, distances: Distances) -> FlyFrom:
    """How to follow some entries of an excursion from a state within it, as a fallback does."""

    def fly_from(
        excursion: Excursion, entries: list[Entry], tasks: list[Task], state: State
    ) -> tuple[ExcursionFlow, State]:
        order = Order(tasks, entries)
        if order.circle:
            return _circular(excursion, order, state), state
        after = state.copy()
        return _follow(world, excursion, order, after, distances, frozenset()).flow, after

    return fly_from


def _start_after(world: World, excursion: Excursion, previous: Flight, dropped: frozenset[Task]) -> State:
    """What an excursion starts from: the end of the one before, or what its contract promises."""
    if excursion.starts == "promise":
        return promised(world, previous.flow.excursion, previous.start, dropped)
    return previous.end


def _leads_on(excursion: Excursion, previous: Flight, begun: set[Excursion]) -> bool:
    """Whether it is known what an excursion starts from. A contract states the end, from a start that is known; without
    one, the excursion before has to be followed to its end."""
    if excursion.starts == "promise":
        return previous.flow.excursion in begun
    return previous.flow.complete


def _not_begun(excursion: Excursion, previous: Flight) -> Flight:
    """An excursion of which no state is judged, because its start is not known. (A state there has to be: where the one
    before started.)"""
    order = Order(excursion.tasks, entries_flown(excursion, frozenset()))
    if order.circle:
        one = _circular(excursion, order, previous.start)
    else:
        one = ExcursionFlow(excursion, {}, complete=False)
        one.start, one.end = list(previous.start.values), list(previous.start.values)
    before = previous.flow.excursion
    one.problems.append(
        Problem("not-decided", excursion.decl, {"what": "start", "excursion": excursion, "previous": before})
    )
    check_answers(one)
    return Flight(one, previous.start, previous.start)


def entries_flown(excursion: Excursion, dropped: frozenset[Task]) -> list[Entry]:
    """The entries that take part. A dropped task's stay in the order, so that what it carried is inherited, and do
    nothing; a guarded task takes part when its guard says so."""
    if all(task.guard is None for task in excursion.tasks):
        return excursion.entries
    return [e for e in excursion.entries if e.task.guard is None or guard_holds(e.task.guard, excursion, dropped)]


def _replays(world: World) -> type[Replay]:
    """Where several tasks may be dropped, it is noted what each entry goes by."""
    if not several_droppable(world):
        return Replay
    from jackstay.flow.recording import Recording

    return Recording


def fly(
    world: World,
    excursion: Excursion,
    start: State,
    distances: Distances,
    dropped: frozenset[Task],
    kind: type[Replay] = Replay,
) -> Flight:
    """Analyse one excursion from a state, without the dropped tasks."""
    entries = entries_flown(excursion, dropped)
    order = Order(excursion.tasks, entries)
    if order.circle:
        one = _circular(excursion, order, start)
        one.problems.append(Problem("not-decided", excursion.decl, {"what": "circle", "excursion": excursion}))
        return Flight(one, start, start)
    state = start.copy()
    replay = _follow(world, excursion, order, state, distances, dropped, kind)
    check_done(order, replay, replay.flow, world, start, dropped)
    Ends(world, replay, start).check()
    if not dropped:
        check_answers(replay.flow)
    return Flight(replay.flow, start, state, replay)


def _circular(excursion: Excursion, order: Order, start: State) -> ExcursionFlow:
    one = ExcursionFlow(excursion, {}, complete=False)
    one.start = list(start.values)
    one.end = list(start.values)
    facts = {"circle": [(order.entries[i], edge, order.entries[edge.before]) for i, edge in order.circle]}
    one.problems.append(Problem("circular-wait", order.entries[order.circle[0][0]].at, facts))
    return one


def _follow(
    world: World,
    excursion: Excursion,
    order: Order,
    state: State,
    distances: Distances,
    dropped: frozenset[Task],
    kind: type[Replay] = Replay,
) -> Replay:
    """Replay in order, then judge what other timings could make of it. Changes the state."""
    replay = kind(world, excursion, order, state, distances, dropped)
    one = replay.run()
    one.companions = [(s, replay.main[m]) for s, m in one.companions if m in replay.main]
    set_clocks(one)
    _judge_races(replay, [*find_races(one), *find_carried_off(one)])
    check_choices(replay)
    check_rules(replay)
    check_counts(replay)
    check_lines(replay)
    return replay


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
        problem = Problem(
            "may-come-first",
            race.second.entry.at,
            {"flow": flow, "first": race.first, "second": race.second, "vars": [race.var]},
        )
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
                w is not step and not happens_before(w, step) and not happens_before(step, w)
                for w in writers.get(var, ())
            ):
                dropped.add(id(failed))
    # what follows from a step already found wrong is not told again
    timing = {step.index for failed, step, _ in replay.failed_reads if id(failed) in dropped}
    since = {var: first for var, first in replay.doubted_since.items() if first not in timing}
    echoes = {
        id(p) for p in told.values() if all(v in since and p.facts["second"].index > since[v] for v in p.facts["vars"])
    }
    flow.problems[:] = [p for p in flow.problems if id(p) not in dropped and id(p) not in echoes]
