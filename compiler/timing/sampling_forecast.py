"""What a forecast says of one excursion: when it ends, what it keeps, what it hangs on, and what can be fitted in.

Each figure is worked out twice from the same draws: with the spread that the plan says its steps share (``slow day``),
and with each step for itself. Times are seconds from the excursion's start; chances are shares of the samples.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, NamedTuple

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Excursion, Task, Thing, TimeBound, World
from jackstay.timing.events import ORIGIN, EventGraph
from jackstay.timing.judging import who_go_out
from jackstay.timing.pert import Pert, pert, spread
from jackstay.timing.sampling import Common, Samples, Target, sample
from jackstay.timing.sampling_home import Needs, home_needs
from jackstay.timing.sampling_names import identities
from jackstay.timing.sampling_network import Network, network_of, plain
from jackstay.timing.sampling_variants import get_aheads, with_only, without_any
from jackstay.timing.schedule import clock_events
from jackstay.timing.variants import Variants

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Row = NDArray[np.float32]

SEARCHED = 4000  # samples that the latest start of a get-ahead is searched with
MOST_GET_AHEADS = 12  # of one excursion, looked at one by one
SURE = 0.9  # the chance of being in time that the latest start of a get-ahead has to leave
MINUTE = 60.0


class Spread(NamedTuple):
    """Seconds. early, half, late: the values that a tenth, a half and nine tenths of the samples stay under."""

    mean: float
    deviation: float
    early: float
    half: float
    late: float


class Answer(NamedTuple):
    """One way of drawing. end, tasks, bounds as in `Forecast`. on_clock: from the clock's start to its end.
    critical: by step, the share of samples in which the end hangs on it. homes: in the order of `Forecast.outside`, the
    chance that at the start or end of some step less is left of the limit than that actor needs to be back inside;
    home: that it is so for anybody; None where there is no limit, or nobody goes out and comes in. actors: when each of
    `Forecast.crew` is through; apart: from the first of them to the last; together: the chance that this keeps what
    `finish together` allows."""

    end: Spread
    on_clock: Spread
    inside: float | None
    inside_reserve: float | None
    tasks: tuple[Spread, ...]
    bounds: tuple[float, ...]
    critical: tuple[float, ...]
    homes: tuple[float, ...]
    home: float | None
    actors: tuple[Spread, ...]
    apart: Spread | None
    together: float | None


class Extra(NamedTuple):
    """A get-ahead, flown alone beside all that is not one. chance: that the excursion keeps its limit less the reserve.
    begins: when it does on average, if nothing puts it off. latest: the last moment at which it may be begun so that
    this chance is still `SURE`; None: not even at once; without end: it holds nothing up."""

    task: Task
    chance: float
    chance_alone: float
    begins: float
    latest: float | None


class Extras(NamedTuple):
    """goal: the limit less the reserve, seconds on the clock. without: the chance to keep it with no get-ahead flown.
    left_out: how many are not looked at one by one."""

    goal: float
    without: float
    without_alone: float
    each: tuple[Extra, ...]
    left_out: int


@dataclass(frozen=True, slots=True)
class Forecast:
    """names: by step (see `sampling_names`). stakes: by step, criticality times its standard deviation, in seconds: the
    time that rehearsing it is worth. outside: who goes out and comes in; crew: the same, where they are two or more.
    tasks, bounds: in the order of the answers' lists; a bound with its step's index. blank: steps that nobody gives a
    duration. unlit: steps that never fit into the light they need."""

    flow: ExcursionFlow
    network: Network
    samples: int
    common: Common
    names: tuple[str, ...]
    tasks: tuple[Task, ...]
    bounds: tuple[tuple[TimeBound, int], ...]
    outside: tuple[Thing, ...]
    crew: tuple[Thing, ...]
    together: Answer
    alone: Answer
    pert: Pert
    stakes: tuple[float, ...]
    extras: Extras | None
    blank: tuple[int, ...]
    unlit: tuple[int, ...]

    @property
    def excursion(self) -> Excursion:
        return self.flow.excursion

    @property
    def uncertain(self) -> bool:
        """Whether any duration is given by more than one number."""
        return any(map(self.network.uncertain, range(self.network.steps)))


def common_of(excursion: Excursion) -> Common:
    said = excursion.slow_day
    return Common() if said is None else Common(float(said.run), float(said.each))


def forecast(
    world: World,
    flow: ExcursionFlow,
    samples: int,
    seed: int,
    progress: Callable[[float], None] | None = None,
) -> Forecast | None:
    """Forecast one excursion; None where its order is circular. progress: told the share that is done."""
    graph = EventGraph(flow)
    network = network_of(graph) if flow.complete else None
    if network is None:
        return None
    common = common_of(flow.excursion)
    needs = home_needs(world, flow) if flow.excursion.limit is not None else {}
    asked = _Asked(graph, network, needs)
    shared = common.run + common.each > 0
    passes = 2 if shared else 1
    told = 0

    def tell(done: int) -> None:
        if progress is not None:
            progress((told * samples + done) / (passes * samples) * 0.7)

    alone = asked.answer(sample(network, asked.targets, samples, seed, critical_to=0, progress=tell))
    together = alone
    if shared:
        told = 1
        together = asked.answer(sample(network, asked.targets, samples, seed, common, critical_to=0, progress=tell))
    triples = [network.range_of(step) for step in range(network.steps)]
    stakes = tuple(share * spread(triple) for share, triple in zip(together.critical, triples, strict=True))
    extras = _extras(world, flow, samples, seed, common, progress)
    if progress is not None:
        progress(1.0)
    return Forecast(
        flow,
        network,
        samples,
        common,
        tuple(identities(flow)),
        tuple(asked.tasks),
        tuple((bound.bound, bound.step) for bound in asked.at_most),
        tuple(needs),
        tuple(asked.crew),
        together,
        alone,
        pert(network, asked.last),
        stakes,
        extras,
        tuple(step for step, one in enumerate(network.ranges) if one is None),
        tuple(step for step in graph.light if graph.cycle is not None and _never_lit(graph, step)),
    )


def _never_lit(graph: EventGraph, step: int) -> bool:
    return graph.cycle is not None and graph.cycle.earliest(0, graph.most[step], graph.light[step]) is None


class _Asked:
    """What is asked of the samples of one flow, as targets: the first is the end of the excursion."""

    def __init__(self, graph: EventGraph, network: Network, needs: Needs | None = None) -> None:
        self.targets: list[Target] = []
        self._known: dict[Target, int] = {}
        self._excursion = graph.flow.excursion
        self.last = _last(network)
        self.end = self._target(*self.last)
        self._zero, self._stop = (None if event is None else self._target(event) for event in clock_events(graph))
        self.tasks: list[Task] = []
        self._task_ends: list[int] = []
        for task, ends in _task_ends(graph).items():
            self.tasks.append(task)
            self._task_ends.append(self._target(*ends))
        last_of = {actor: step.index for step in graph.flow.steps for actor in step.cast}
        crew = [actor for actor in who_go_out(graph.flow) if actor in last_of]
        self.crew = crew if len(crew) > 1 else []
        self._crew_ends = [self._target(2 * last_of[actor] + 1) for actor in self.crew]
        # a `within` stands for two maxima, one each way; it is kept when both are
        self.at_most = [one for one in graph.at_most if one.source == ORIGIN or one.target == 2 * one.step + 1]
        self._pairs = [
            (
                None if one.source == ORIGIN else self._target(one.source),
                self._target(one.target),
                plain(graph.seconds(one.gap)),
            )
            for one in self.at_most
        ]
        self._homes = [self._add(Target(tuple(events))) for events in (needs or {}).values()]

    def _add(self, target: Target) -> int:
        if target not in self._known:
            self._known[target] = len(self.targets)
            self.targets.append(target)
        return self._known[target]

    def _target(self, *events: int) -> int:
        return self._add(Target(tuple((event, 0.0) for event in events)))

    def on_clock(self, found: Samples) -> Row:
        """From the start of the excursion's clock to its end, in each sample."""
        stop: Row = found.latest[self.end if self._stop is None else self._stop]
        return stop if self._zero is None else stop - found.latest[self._zero]

    def answer(self, found: Samples) -> Answer:
        import numpy as np

        count = found.latest.shape[1]
        clock = self.on_clock(found)
        limit, reserve = self._excursion.limit, self._excursion.reserve
        bounds = []
        for source, target, gap in self._pairs:
            at = found.latest[target] if source is None else np.abs(found.latest[target] - found.latest[source])
            bounds.append(_share(at, gap))
        homes: tuple[float, ...] = ()
        home = None
        if limit is not None and self._homes:
            zero = np.float32(0.0) if self._zero is None else found.latest[self._zero]
            rows = [found.latest[one] - zero for one in self._homes]
            homes = tuple(1.0 - _share(one, plain(limit.value)) for one in rows)
            home = 1.0 - _share(np.maximum.reduce(rows), plain(limit.value))
        apart: Row | None = None
        within = self._excursion.together
        if self._crew_ends:
            through = found.latest[self._crew_ends]
            apart = through.max(axis=0) - through.min(axis=0)
        return Answer(
            _spread(found.latest[self.end]),
            _spread(clock),
            None if limit is None else _share(clock, plain(limit.value)),
            None if limit is None or reserve is None else _share(clock, plain(limit.value - reserve.value)),
            tuple(_spread(found.latest[one]) for one in self._task_ends),
            tuple(bounds),
            tuple(one / count for one in found.critical),
            homes,
            home,
            tuple(_spread(found.latest[one]) for one in self._crew_ends),
            None if apart is None else _spread(apart),
            None if apart is None or within is None else _share(apart, plain(within.within.value)),
        )


def _share(row: Row, most: float) -> float:
    """The share of samples that are at most so much; a hundredth of a second is forgiven, as rows are rounded."""
    import numpy as np

    return int(np.count_nonzero(row <= most + 0.01)) / len(row)


def _spread(row: Row) -> Spread:
    import numpy as np

    early, half, late = np.quantile(row, (0.1, 0.5, 0.9), method="linear")
    exact = row.astype(np.float64)
    return Spread(float(exact.mean()), float(exact.std()), float(early), float(half), float(late))


def _last(network: Network) -> list[int]:
    """The ends of steps that nothing comes after."""
    used = {source for incoming in network.incoming for source, _ in incoming}
    return [event for event in range(1, 2 * network.steps, 2) if event not in used]


def _task_ends(graph: EventGraph) -> dict[Task, list[int]]:
    """For each task that is flown, the ends of its steps that no other step of it waits for."""
    steps = graph.flow.steps
    followed: set[int] = set()
    for later, before in enumerate(graph.before):
        followed.update(one for one in before if steps[one].entry.task is steps[later].entry.task)
    found: dict[Task, list[int]] = {task: [] for task in graph.flow.excursion.tasks}
    for step in steps:
        if step.index not in followed and step.entry.task not in graph.dropped:
            found.setdefault(step.entry.task, []).append(2 * step.index + 1)
    return {task: ends for task, ends in found.items() if ends}


# --- get-aheads -------------------------------------------------------------------------------------------------------


def _extras(
    world: World,
    flow: ExcursionFlow,
    samples: int,
    seed: int,
    common: Common,
    progress: Callable[[float], None] | None,
) -> Extras | None:
    """None where there is no get-ahead, or no limit to fit it into."""
    excursion = flow.excursion
    tasks = get_aheads(excursion)
    if not tasks or excursion.limit is None:
        return None
    goal = plain(excursion.limit.value - (excursion.reserve.value if excursion.reserve is not None else 0))
    variants = Variants(world, flow)

    def case(dropped: frozenset[Task]) -> _Case | None:
        flown = variants.without(dropped)
        graph = EventGraph(flown, dropped) if flown is not None else None
        network = network_of(graph) if graph is not None else None
        return _Case(graph, network, samples, seed) if graph is not None and network is not None else None

    base = case(without_any(excursion))
    if base is None:
        return None
    looked_at = tasks[:MOST_GET_AHEADS]
    each = []
    for number, task in enumerate(looked_at, start=1):
        one = case(with_only(task))
        if one is not None:
            chances = one.chance(goal, common), one.chance(goal, Common())
            each.append(Extra(task, *chances, one.begins(task, common), one.latest(task, goal, common)))
        if progress is not None:
            progress(0.7 + 0.3 * number / len(looked_at))
    return Extras(goal, base.chance(goal, common), base.chance(goal, Common()), tuple(each), len(tasks) - len(each))


class _Case:
    """One excursion without some of its tasks, to be sampled for when it ends."""

    def __init__(self, graph: EventGraph, network: Network, samples: int, seed: int) -> None:
        self._flow = graph.flow
        self._network = network
        self._asked = _Asked(graph, network)
        self._samples, self._seed = samples, seed

    def chance(self, goal: float, common: Common) -> float:
        """That the clock shows no more than the goal at its end."""
        return self._kept(self._network, goal, common, self._samples)

    def _kept(self, network: Network, goal: float, common: Common, samples: int) -> float:
        found = sample(network, self._asked.targets, samples, self._seed, common)
        return _share(self._asked.on_clock(found), goal)

    def begins(self, task: Task, common: Common) -> float:
        """When, on average, the first step of the task that takes time starts if nothing puts it off."""
        first = next((step for step in self._mine(task) if self._network.range_of(step)[2] > 0), None)
        if first is None:
            return 0.0
        found = sample(self._network, [Target(((2 * first, 0.0),))], self._samples, self._seed, common)
        return _spread(found.latest[0]).mean

    def latest(self, task: Task, goal: float, common: Common) -> float | None:
        """To the minute: the last ``not before`` on the whole task that leaves the chance `SURE`."""
        samples = min(self._samples, SEARCHED)

        def sure(until: float) -> bool:
            return self._kept(self._put_off(task, until), goal, common, samples) >= SURE

        if not sure(0.0):
            return None
        found = sample(self._network, self._asked.targets, samples, self._seed, common)
        low, high = 0.0, goal + float(found.latest[self._asked.end].max())
        if sure(high):
            return inf
        while high - low > MINUTE / 2:
            middle = (low + high) / 2
            low, high = (middle, high) if sure(middle) else (low, middle)
        return low

    def _mine(self, task: Task) -> list[int]:
        return [step.index for step in self._flow.steps if step.entry.task is task]

    def _put_off(self, task: Task, until: float) -> Network:
        floors = list(self._network.floors)
        for step in self._mine(task):
            floors[step] = max(floors[step], until)
        return self._network._replace(floors=tuple(floors))
