"""Simple temporal networks against published tables, scipy, unified-planning's incremental network, and themselves.

Broken copies of the module, each with one line of it changed, must be told from the real one by the same comparisons.
"""

from __future__ import annotations

import json
import random
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import NegativeCycleError, bellman_ford, johnson
from unified_planning.model import DeltaSimpleTemporalNetwork

from jackstay.timing import network as real
from jackstay.timing.network import Clash, Constraint, Growing, Network, clash, consistent, earliest, latest, minimal

PUBLISHED = json.loads((Path(__file__).parent / "published.json").read_text(encoding="utf-8"))
INF = float("inf")

# --- Dechter, Meiri and Pearl, Temporal constraint networks, Artificial Intelligence 49 (1991): who drove, who shared

COMMUTERS = PUBLISHED["stn"]
CHOICES = {"car/car": (0, 0), "car/carpool": (0, 1), "bus/car": (1, 0), "bus/carpool": (1, 1)}


def commuters(labelling: str) -> Network:
    """The five points with one interval chosen for each way to work; both of its bounds have its name as tag."""
    john, fred = CHOICES[labelling]
    constraints = []
    for name, intervals in COMMUTERS["constraints"].items():
        later, sooner = (int(point[1:]) for point in name.split("-"))
        low, high = intervals[{"T2-T1": john, "T4-T3": fred}.get(name, 0)]
        constraints.append(Constraint(later, sooner, -low, name))
        if high is not None:
            constraints.append(Constraint(sooner, later, high, name))
    return Network(5, constraints)


@pytest.mark.parametrize("labelling", CHOICES)
def test_published_labellings(labelling: str) -> None:
    """DMP 1991: three of the four labellings are consistent, going by bus while Fred shares a car is not."""
    network = commuters(labelling)
    assert consistent(network) is COMMUTERS["labellings"][labelling]
    assert (clash(network) is None) is COMMUTERS["labellings"][labelling]


@pytest.mark.parametrize("labelling", ["car/carpool", "car/car"])
def test_published_minimal_networks(labelling: str) -> None:
    """DMP 1991, the minimal network of a labelling: every pair, both bounds."""
    table = minimal(commuters(labelling), range(5))
    assert table is not None
    published = COMMUTERS["minimal_" + labelling.replace("/", "_")]
    assert len(published) == 10
    for name, (low, high) in published.items():
        later, sooner = (int(point[1:]) for point in name.split("-"))
        assert (-table[later][sooner], table[sooner][later]) == (low, high), name  # type: ignore[operator]


def test_published_minimal_network_of_some_points_only() -> None:
    """DMP 1991, car/carpool: the same numbers when only three of the points are asked for, in any order."""
    table = minimal(commuters("car/carpool"), [4, 0, 2])
    assert table == [[0, -60, -20], [70, 0, 50], [30, -40, 0]]


def test_published_only_solution() -> None:
    """DMP 1991, bus/car: all points are fixed."""
    network = commuters("bus/car")
    expected = [0, *COMMUTERS["only_solution_bus_car"].values()]
    assert earliest(network) == latest(network) == expected


def test_why_the_last_labelling_fails() -> None:
    """DMP 1991, bus/carpool, worked out by hand: leaving at 10 or later and 60 by bus is 70; Fred, there by 70 after 40
    or more, left by 30, and John arrives at most 20 later, at 50. 20 are missing."""
    found = clash(commuters("bus/carpool"))
    assert found is not None
    assert found.short_by == 20
    assert set(found.tags) == {"T1-T0", "T2-T1", "T4-T3", "T4-T0", "T2-T3"}


# --- other people's programs


def made_up(rng: random.Random, points: int, minima: int, maxima: int, reach: int = 9) -> list[Constraint]:
    """Minima mostly forwards along a hidden order, maxima mostly as long as they have to be."""
    place = list(range(points))
    rng.shuffle(place)
    hidden = [0] * points
    for i, point in enumerate(place):
        hidden[point] = (hidden[place[i - 1]] if i else 0) + rng.randrange(reach // 2)
    found = []
    for _ in range(minima):
        a, b = sorted(rng.sample(range(points), 2), key=place.index)
        found.append(Constraint(b, a, -rng.randint(0, hidden[b] - hidden[a]), rng.choice([None, "order"])))
    for i in range(maxima):
        a, b = rng.sample(range(points), 2)
        found.append(Constraint(a, b, hidden[b] - hidden[a] + rng.randint(-3, 4), rng.choice([None, i, i // 2])))
    rng.shuffle(found)
    return found


def networks(count: int, seed: object = 0) -> Iterator[Network]:
    rng = random.Random(f"networks {seed}")
    for _ in range(count):
        points = rng.randint(2, 9)
        constraints = made_up(rng, points, rng.randint(0, 2 * points), rng.randint(0, 2 * points))
        yield Network(points, constraints, rng.randrange(points))


def matrix(network: Network) -> csr_array:
    """Least arc from each point to each other; arcs of 0 stay arcs."""
    least: dict[tuple[int, int], int] = {}
    for one in network.constraints:
        key = (one.source, one.target)
        if one.source != one.target:
            least[key] = min(least.get(key, one.most), one.most)
    rows, columns = [key[0] for key in least], [key[1] for key in least]
    data = numpy.array(list(least.values()), dtype=float)
    return coo_array((data, (rows, columns)), shape=(network.points, network.points)).tocsr()


def as_scipy(times: list[Any]) -> list[float]:
    return [INF if time is None else float(time) for time in times]


def compare_with_scipy(module: Any, network: Network) -> bool:
    """Earliest, latest and minimal against Bellman-Ford and Johnson; whether the network is consistent."""
    table = matrix(network)
    own = module.Network(network.points, network.constraints, network.origin)
    chosen = list(range(0, network.points, 2 if network.points < 10 else 150))
    try:
        out = bellman_ford(table, indices=network.origin)
        whole = johnson(table, indices=chosen)
    except NegativeCycleError:
        assert module.earliest(own) is None
        assert module.latest(own) is None
        assert module.minimal(own, [0]) is None
        assert not module.consistent(own)
        assert module.clash(own) is not None
        return False
    back = bellman_ford(table.T.tocsr(), indices=network.origin)
    assert module.consistent(own)
    assert module.clash(own) is None
    assert as_scipy(module.latest(own)) == list(out)
    assert [INF if time is None else -float(time) for time in module.earliest(own)] == list(back)
    assert [as_scipy(row) for row in module.minimal(own, chosen)] == whole[:, chosen].tolist()
    return True


def test_scipy_says_the_same() -> None:
    verdicts = [compare_with_scipy(real, network) for network in networks(400)]
    assert 80 < sum(verdicts) < 320, "both kinds are there"


@pytest.mark.parametrize("room", [0, 5, -40])
def test_scipy_says_the_same_of_long_ones(room: int) -> None:
    """3,000 points and 500 windows, made around one hidden solution; with less room than that has there is none."""
    rng = random.Random("long ones")
    points = 3_000
    minima = [Constraint(i, max(0, i - rng.randrange(1, 40)), -rng.randrange(1, 9)) for i in range(1, points)]
    minima += [Constraint(i, rng.randrange(i), -rng.randrange(9)) for i in range(1, points, 3)]
    hidden = earliest(Network(points, [one._replace(most=one.most - rng.randrange(9)) for one in minima]))
    assert hidden is not None
    windows = []
    for i in range(500):
        source, target = rng.sample(range(points), 2)
        gap = hidden[target] - hidden[source]  # type: ignore[operator]
        windows.append(Constraint(source, target, gap + rng.randrange(3) + room, f"window {i}"))
    network = Network(points, minima + windows)
    assert compare_with_scipy(real, network) is (room >= 0)
    if room < 0:
        check_clash(real, network, allows_time)


@pytest.mark.parametrize("room", [0, -1])
def test_windows_that_need_many_passes(room: int) -> None:
    """A staircase of 65 windows, each of which moves what the next one counts from, so that every pass moves one point
    more. One tick less room at the far end is a contradiction, with every window in it."""
    steps = 65
    constraints = [Constraint(2, 0, -100)]
    for i in range(steps):
        constraints.append(Constraint(2 * i + 1, 2 * i + 2, 1, f"window {i}"))
        constraints.append(Constraint(2 * i + 4, 2 * i + 1, 0))
    end = 2 * steps + 2
    network = Network(end + 1, [*constraints, Constraint(0, end, 100 - steps + room, "by")])
    assert compare_with_scipy(real, network) is (room == 0)
    found = clash(network)
    if room < 0:
        assert found is not None
        assert found.short_by == 1
        assert set(found.tags) == {"by", *(f"window {i}" for i in range(steps))}


def test_linear_programs_say_the_same() -> None:
    """HiGHS, minimizing and maximizing the time of one point."""
    seen = set()
    for network in networks(60, "linear"):
        rows = numpy.zeros((max(1, len(network.constraints)), network.points))
        most = numpy.zeros(len(rows))
        for i, one in enumerate(network.constraints):
            rows[i, one.target] += 1
            rows[i, one.source] -= 1
            most[i] = one.most
        bounds = [(0, 0) if i == network.origin else (None, None) for i in range(network.points)]
        early, late = earliest(network), latest(network)
        for point in range(network.points):
            for sign, times in ((1, early), (-1, late)):
                goal = numpy.zeros(network.points)
                goal[point] = sign
                done = linprog(goal, A_ub=rows, b_ub=most, bounds=bounds, method="highs")
                seen.add(done.status)
                if times is None:
                    assert done.status in (2, 4)
                elif times[point] is None:
                    assert done.status in (3, 4)
                else:
                    assert done.status == 0
                    assert done.fun * sign == pytest.approx(float(times[point]), abs=1e-6)  # type: ignore[arg-type]
    assert {0, 2, 3} <= seen


def compare_growing(module: Any, network: Network) -> int:
    """Add the constraints one by one, here and to unified-planning's network; how many were taken before a clash."""
    growing = module.Growing(module.Network(network.points))
    other: Any = DeltaSimpleTemporalNetwork()
    for point in range(network.points):
        other.insert_interval(point, point)
    for count, one in enumerate(network.constraints):
        before = list(growing.times)
        other.add(one.target, one.source, one.most)
        found = growing.add(one)
        assert (found is None) is other.check_stn()
        if found is not None:
            assert found.cycle[0] == one
            check_cycle(network.points, found)
            assert growing.times == before, "a constraint that is not taken changes nothing"
            assert len(growing.constraints) == count
            return count
        assert growing.times == [other.get_stn_model(point) for point in range(network.points)]
    return len(network.constraints)


def test_an_incremental_network_says_the_same() -> None:
    """unified-planning's DeltaSimpleTemporalNetwork: the verdict and the least times after each constraint."""
    verdicts = [compare_growing(real, network) == len(network.constraints) for network in networks(300, "growing")]
    assert 60 < sum(verdicts) < 240


# --- properties

small_constraint = st.builds(
    Constraint,
    st.integers(0, 5),
    st.integers(0, 5),
    st.integers(-5, 7),
    st.sampled_from([None, "a", "b", "c", "d"]),
)
small_network = st.builds(Network, st.just(6), st.lists(small_constraint, max_size=14), st.integers(0, 5))


def check_cycle(points: int, found: Any) -> None:
    """Closed, simple, short by what it says, and without any one of its constraints no contradiction."""
    cycle = found.cycle
    for one, after in zip(cycle, (*cycle[1:], cycle[0]), strict=True):
        assert one.target == after.source
    assert len({one.source for one in cycle}) == len(cycle)
    assert sum(one.most for one in cycle) == -found.short_by < 0
    for i in range(len(cycle)):
        assert consistent(Network(points, cycle[:i] + cycle[i + 1 :]))


def check_clash(module: Any, network: Network, blame: Callable[[Constraint], bool]) -> None:
    """What `clash` promises, each promise by itself."""
    found = module.clash(module.Network(network.points, network.constraints, network.origin), blame)
    assert (found is None) is consistent(network)
    if found is None:
        return
    check_cycle(network.points, found)
    blamed = [one for one in found.cycle if blame(one)]
    tags = {one.tag for one in blamed}
    kept = [one for one in network.constraints if not blame(one)]
    for tag in tags:
        rest = [one for one in network.constraints if blame(one) and one.tag in tags - {tag}]
        assert consistent(Network(network.points, kept + rest)), f"{tag} is not needed"
    if len(blamed) == 1:
        for room in (found.short_by - 1, found.short_by):
            trial = blamed[0]._replace(most=blamed[0].most + room)
            assert consistent(Network(network.points, [*kept, trial])) is (room == found.short_by)


def allows_time(one: Constraint) -> bool:
    return one.most > 0 and one.tag is not None


@given(small_network)
@settings(max_examples=250, deadline=None)
def test_a_clash_is_what_it_says(network: Network) -> None:
    check_clash(real, network, allows_time)
    check_clash(real, network, lambda one: one.tag in ("a", "b"))
    assert clash(network) == clash(network, allows_time)


@given(small_network, small_constraint)
@settings(max_examples=200, deadline=None)
def test_one_more_constraint_never_repairs_and_never_widens(network: Network, more: Constraint) -> None:
    larger = network.with_constraint(more)
    if not consistent(network):
        assert not consistent(larger)
        return
    if not consistent(larger):
        return
    for before, after in zip(earliest(network) or [], earliest(larger) or [], strict=True):
        assert before is None or (after is not None and after >= before)
    for before, after in zip(latest(network) or [], latest(larger) or [], strict=True):
        assert before is None or (after is not None and after <= before)


@given(small_network)
@settings(max_examples=150, deadline=None)
def test_the_extremes_are_solutions(network: Network) -> None:
    for times in (earliest(network), latest(network)):
        if times is None:
            assert not consistent(network)
            continue
        assert times[network.origin] == 0
        for one in network.constraints:
            sooner, later = times[one.source], times[one.target]
            if sooner is not None and later is not None:
                assert later - sooner <= one.most


@given(small_network, st.permutations(range(6)))
@settings(max_examples=150, deadline=None)
def test_the_numbering_does_not_matter(network: Network, new: list[int]) -> None:
    moved = [one._replace(source=new[one.source], target=new[one.target]) for one in reversed(network.constraints)]
    other = Network(6, moved, new[network.origin])
    for ask in (earliest, latest):
        mine, others = ask(network), ask(other)
        assert (mine is None) is (others is None)
        if mine is not None and others is not None:
            assert mine == [others[new[point]] for point in range(6)]


@given(small_network, st.integers(2, 7))
@settings(max_examples=80, deadline=None)
def test_fractions_of_a_tick(network: Network, parts: int) -> None:
    finer = Network(6, [one._replace(most=Fraction(one.most, parts)) for one in network.constraints], network.origin)
    mine, others = earliest(network), earliest(finer)
    assert (mine is None) is (others is None)
    for one, other in zip(mine or [], others or [], strict=True):
        assert (one is None) is (other is None)
        assert one is None or one == other * parts  # type: ignore[operator]
    found = clash(finer)
    assert found is None or isinstance(found.short_by, Fraction)


@given(small_network)
@settings(max_examples=100, deadline=None)
def test_what_grows_is_what_is_made_at_once(network: Network) -> None:
    half = len(network.constraints) // 2
    begun = Network(6, network.constraints[:half])
    if not consistent(begun):
        with pytest.raises(ValueError, match="contradict"):
            Growing(begun)
        return
    growing = Growing(begun)
    if all(growing.add(one) is None for one in network.constraints[half:]):
        assert growing.times == Growing(Network(6, network.constraints)).times
    else:
        assert not consistent(network)


# --- by hand


def test_the_deadline_is_blamed_for_what_is_late_by_most() -> None:
    """Two chains of 45 and 60 against one deadline of 30: the longer one is told, and 30 more would do."""
    chains = [
        Constraint(1, 0, -45),
        Constraint(2, 0, -20),
        Constraint(3, 2, -40),
        Constraint(4, 1, 0),
        Constraint(4, 3, 0),
    ]
    found = clash(Network(5, [*chains, Constraint(0, 4, 30, "by half an hour")]))
    assert found == Clash((Constraint(0, 4, 30, "by half an hour"), chains[4], chains[2], chains[1]), 30)


def test_no_tag_is_blamed_for_what_the_rest_cannot_do_anyway() -> None:
    found = clash(
        Network(3, [Constraint(0, 1, 5, "by"), Constraint(1, 0, -9), Constraint(1, 2, -1), Constraint(2, 1, 0)])
    )
    assert found is not None
    assert found.tags == ()
    assert found.short_by == 1


def test_points_at_the_same_time() -> None:
    """Joint starts are circles of nothing: no contradiction, and no harm to the order."""
    both = [Constraint(1, 2, 0), Constraint(2, 1, 0)]
    network = Network(4, [*both, Constraint(2, 0, -5), Constraint(3, 1, -2), Constraint(0, 3, 8, "by")])
    assert earliest(network) == [0, 5, 5, 7]
    assert latest(network) == [0, 6, 6, 8]


def test_points_that_nothing_holds() -> None:
    assert earliest(Network(3, [Constraint(0, 1, 4)])) == [0, None, None]
    assert latest(Network(3, [Constraint(0, 1, 4)])) == [0, 4, None]
    out_of_reach = Network(3, [Constraint(1, 2, -1), Constraint(2, 1, -1)])
    assert earliest(out_of_reach) is None
    assert latest(out_of_reach) is None


def test_a_point_after_itself() -> None:
    found = clash(Network(1, [Constraint(0, 0, -2, "x")]))
    assert found == Clash((Constraint(0, 0, -2, "x"),), 2)
    assert consistent(Network(1, [Constraint(0, 0, 0)]))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Network(0),
        lambda: Network(2, origin=2),
        lambda: Network(2, [Constraint(0, 2, 1)]),
        lambda: Network(2, [Constraint(-1, 0, 1)]),
        lambda: Growing(Network(2)).add(Constraint(0, 5, 1)),
    ],
)
def test_points_that_are_not_there(make: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"of [02] points"):
        make()


# --- broken copies

BREAKS = {
    "a window is not passed on": ("later[there] = 1", "pass"),
    "no second look out of the origin's reach": ("if beyond:", "if not beyond:"),
    "reduced costs are not turned back": ("reduced + times[point] - times[start]", "reduced"),
    "reduced costs leave the start out": ("here = reduced + times[point]", "here = reduced"),
    "no tag is ever spared": ("loop = loop if found is None else found", "pass"),
    "the first cycle is told, not the worst": ("if len(blamed) == 1:", "if len(blamed) > 99:"),
    "what leads to a cycle counts as the cycle": ("path[path.index(point) :]", "path"),
    "a small raise is dropped": ("if more > 0 and other", "if more > 1 and other"),
    "raised in any order": ("heappush(heap, (-more, other, index))", "heappush(heap, (more, other, index))"),
}


def broken(old: str, new: str) -> ModuleType:
    text = Path(real.__file__).read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    module = ModuleType("broken")
    exec(compile(text.replace(old, new), "broken", "exec"), module.__dict__)
    return module


def compare_all(module: Any) -> None:
    for network in networks(150, "broken"):
        compare_with_scipy(module, network)
        compare_growing(module, network)
        check_clash(module, network, allows_time)


def test_the_comparisons_pass_the_real_one() -> None:
    compare_all(real)


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_copy_is_caught(name: str) -> None:
    module = broken(*BREAKS[name])
    with pytest.raises((AssertionError, IndexError, KeyError, TypeError)):
        compare_all(module)
