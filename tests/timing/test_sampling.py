"""Sampled times against exact moments, quantiles from elsewhere, Clark's formula and a simulation by other means."""

from __future__ import annotations

from collections.abc import Generator
from fractions import Fraction
from math import sqrt
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
import simpy
from hypothesis import given, settings
from hypothesis import strategies as st
from outputs.small_plan import Builder, minutes
from scipy.stats import beta, norm
from timing.clark import later
from timing.sampled import chain, ends, network, random_network
from timing.test_schedule import random_plan

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Duration
from jackstay.timing.events import EventGraph
from jackstay.timing.light import DARK, DAYLIGHT, Cycle
from jackstay.timing.pert import lit, mean, pert, spread
from jackstay.timing.sampling import Common, Draws, Target, put_off, sample
from jackstay.timing.sampling_network import Network, Window, network_of
from jackstay.timing.sampling_tables import CELLS, REACH, SCALE, Stream, normal_levels, quantile_row
from jackstay.timing.schedule import schedule

# Hillier and Lieberman, Introduction to Operations Research, the Reliable Construction Co.: predecessors; least,
# likely, most, in weeks.
CONSTRUCTION = {
    "A": ("", 1, 2, 3),
    "B": ("A", 2, 3.5, 8),
    "C": ("B", 6, 9, 18),
    "D": ("C", 4, 5.5, 10),
    "E": ("C", 1, 4.5, 5),
    "F": ("E", 4, 4, 10),
    "G": ("D", 5, 6.5, 11),
    "H": ("EG", 5, 8, 17),
    "I": ("C", 3, 7.5, 9),
    "J": ("FI", 3, 9, 9),
    "K": ("J", 4, 4, 4),
    "L": ("J", 1, 5.5, 7),
    "M": ("H", 1, 2, 3),
    "N": ("KL", 5, 5.5, 9),
}


# --- durations -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("stand", [0.0, 0.004, 0.1, 0.25, 0.503, 0.77, 0.996, 1.0])
def test_quantiles_are_those_of_the_beta_distribution(stand: float) -> None:
    middles = norm.cdf(-REACH + (np.arange(CELLS) + 0.5) / SCALE)
    exact = 540 + 900 * beta.ppf(middles, 1 + 4 * stand, 5 - 4 * stand)
    row = quantile_row(540.0, 540 + 900 * stand, 1440.0)
    assert np.abs(row - exact).max() < 900 * 1e-4


def test_levels_are_the_standard_normal() -> None:
    levels = normal_levels()
    assert abs(levels.mean()) < 1e-12
    assert abs(levels.var() - 1) < 2e-5
    assert np.all(np.diff(levels) > 0)


def test_a_stream_is_the_same_from_wherever_it_is_read() -> None:
    whole = Stream(7).levels(99, 0, 4096)
    assert np.array_equal(whole[1600:2000], Stream(7).levels(99, 1600, 400))
    assert not np.array_equal(whole, Stream(8).levels(99, 0, 4096))
    assert not np.array_equal(whole, Stream(7).levels(98, 0, 4096))
    assert abs(whole.mean() / 65535 - 0.5) < 0.02


def test_a_certain_step_takes_what_it_takes() -> None:
    net = chain([(600.0, 600.0, 600.0), (60.0, 90.0, 300.0)])
    draws = Draws(net, 1, Common(0.2, 0.1))
    draws.begin(0, 1600)
    assert draws.step(0) == 600.0
    row = draws.step(1)
    assert not isinstance(row, float)
    assert row.min() >= 60.0 and row.max() <= 300.0


# --- exact moments ---------------------------------------------------------------------------------------------------

RANGES = [(300.0 + 20 * k, 420.0 + 25 * k, 900.0 + 40 * k) for k in range(12)]


def product(first: tuple[float, float, float], second: tuple[float, float, float], correlation: float) -> float:
    """The covariance of two durations whose normal numbers are so correlated, by Gauss-Hermite quadrature."""
    points, weights = np.polynomial.hermite_e.hermegauss(60)
    weights = weights / weights.sum()

    def value(bounds: tuple[float, float, float], z: Any) -> Any:
        stand = (bounds[1] - bounds[0]) / (bounds[2] - bounds[0])
        return bounds[0] + (bounds[2] - bounds[0]) * beta.ppf(norm.cdf(z), 1 + 4 * stand, 5 - 4 * stand)

    other = correlation * points[:, None] + sqrt(1 - correlation**2) * points[None, :]
    both = value(first, points)[:, None] * value(second, other)
    return float(weights @ both @ weights) - mean(first) * mean(second)


@pytest.mark.parametrize("run, each", [(0.0, 0.0), (0.3, 0.0), (0.2, 0.2)])
def test_a_chain_has_the_sum_of_means_and_the_variance_of_its_correlations(run: float, each: float) -> None:
    count = 40_000
    lead = ["a", "b"] * 6
    net = chain(RANGES, lead)
    row = sample(net, [ends(net)], count, 5, Common(run, each)).latest[0].astype(np.float64)
    expected = sum(map(mean, RANGES))
    variance = sum(spread(one) ** 2 for one in RANGES)
    for i, first in enumerate(RANGES):
        for j in range(i):
            share = run + (each if lead[i] == lead[j] else 0.0)
            if share:
                variance += 2 * product(first, RANGES[j], share)
    assert abs(row.mean() - expected) < 4 * sqrt(variance / count)
    assert abs(row.std() / sqrt(variance) - 1) < 4 / sqrt(2 * count) * 1.3


def test_chains_that_join_end_when_clark_says() -> None:
    """Two chains of equal length: classic PERT forgets one of them. (Symmetric steps: their sums are nearly normal.)"""
    long = [(240.0, 360.0, 480.0)] * 20
    tail = (300.0, 360.0, 600.0)
    net = network(
        [*long, *long, tail], [*([k - 1] if k % 20 else [] for k in range(40)), [19, 39]], lead=["a"] * 20 + ["b"] * 21
    )
    one = (20 * mean(long[0]), sqrt(20) * spread(long[0]))
    joined, deviation = later(one, one)
    expected, deviation = joined + mean(tail), sqrt(deviation**2 + spread(tail) ** 2)
    row = sample(net, [ends(net)], 40_000, 3).latest[0].astype(np.float64)
    assert abs(row.mean() - expected) < 4 * deviation / sqrt(len(row)) + 0.5
    assert abs(row.std() / deviation - 1) < 0.012
    classic = pert(net, [event for event, _ in ends(net).events])
    assert classic.mean < expected - 40
    assert len(classic.path) == 21


def test_chains_on_one_slow_day_end_when_clark_says_of_correlated_ones() -> None:
    """Correlated chains end together more often, so the later of them is less late."""
    long = [(240.0, 360.0, 480.0)] * 20
    net = network([*long, *long], [[k - 1] if k % 20 else [] for k in range(40)], lead=["a"] * 20 + ["b"] * 20)
    within = product(long[0], long[0], 0.3)
    single = 20 * spread(long[0]) ** 2 + 20 * 19 * within
    correlation = 400 * within / single
    expected, deviation = later((20 * mean(long[0]), sqrt(single)), (20 * mean(long[0]), sqrt(single)), correlation)
    row = sample(net, [ends(net)], 40_000, 3, Common(0.3)).latest[0].astype(np.float64)
    assert abs(row.mean() - expected) < 4 * deviation / sqrt(len(row)) + 3
    assert abs(row.std() / deviation - 1) < 0.03


@pytest.mark.parametrize("share", [0.1, 0.3])
def test_a_slow_day_makes_of_95_percent_much_less(share: float) -> None:
    """Fifty like steps in a row, a limit that each for itself keep with 95 %."""
    steps = [(300.0, 400.0, 600.0)] * 50
    net = chain(steps)
    alone = sample(net, [ends(net)], 20_000, 2).latest[0]
    limit = np.quantile(alone, 0.95)
    together = sample(net, [ends(net)], 20_000, 2, Common(share)).latest[0]
    kept = float((together <= limit).mean())
    correlation = product(steps[0], steps[0], share) / spread(steps[0]) ** 2
    expected = NormalDist().cdf(1.645 / sqrt(1 + 49 * correlation))
    assert abs(kept - expected) < 0.03
    assert kept < (0.80 if share == 0.1 else 0.72)


# --- the order -------------------------------------------------------------------------------------------------------


def simulated(net: Network, lengths: list[float]) -> list[float]:
    """Ends of all steps when each is a process that waits for the ends of others, the clock and the light."""
    env = simpy.Environment()
    starts = [env.event() for _ in lengths]
    over = [env.event() for _ in lengths]
    found = [0.0] * len(lengths)

    def wait_for(event: int) -> Any:
        return over[event >> 1] if event & 1 else starts[event >> 1]

    def run(step: int) -> Generator[Any, Any, None]:
        for source, _ in net.incoming[2 * step]:
            yield wait_for(source)
        if net.floors[step] > env.now:
            yield env.timeout(net.floors[step] - env.now)
        window = net.windows[step]
        if window is not None:
            cycle = Cycle(*(Fraction(part) for part in window[:3]))  # type: ignore[arg-type]
            fits = cycle.earliest(
                Fraction(env.now),
                Fraction(net.range_of(step)[2]),
                DAYLIGHT if window.lit else DARK,  # type: ignore
            )
            if fits is not None and fits > env.now:
                yield env.timeout(float(fits) - env.now)
        starts[step].succeed()
        yield env.timeout(lengths[step])
        for source, _ in net.incoming[2 * step + 1]:
            yield wait_for(source)
        found[step] = env.now
        over[step].succeed()

    for step in range(len(lengths)):
        env.process(run(step))
    env.run()
    return found


@pytest.mark.parametrize("seed", range(12))
def test_a_simulation_of_the_same_durations_ends_alike(seed: int) -> None:
    net = random_network(seed, 24)
    targets = [Target(((2 * step + 1, 0.0),)) for step in range(net.steps)]
    common = Common(0.2, 0.1)
    found = sample(net, targets, 48, seed, common)
    draws = Draws(net, seed, common)
    draws.begin(0, 48)
    rows = [draws.step(step) for step in range(net.steps)]
    for k in range(48):
        lengths = [row if isinstance(row, float) else float(row[k]) for row in rows]
        assert simulated(net, lengths) == pytest.approx([float(x) for x in found.latest[:, k]], abs=0.05)


@settings(max_examples=40, deadline=None)
@given(random_plan())
def test_certain_durations_end_as_scheduled(flow: ExcursionFlow) -> None:
    times = schedule(flow)
    net = network_of(EventGraph(flow))
    assert times is not None and net is not None
    found = sample(net, [Target(((2 * step + 1, 0.0),)) for step in range(net.steps)], 2, 1)
    assert [float(x) for x in found.latest[:, 1]] == [float(end) for end in times.end]


@given(
    st.integers(0, 40), st.integers(1, 30), st.integers(0, 40), st.integers(0, 100), st.integers(0, 30), st.booleans()
)
def test_light_is_waited_for_as_the_schedule_waits(
    dark: int, rest: int, first: int, ready: int, length: int, daylight: bool
) -> None:
    cycle = Cycle(dark, dark + rest, first)
    exact = cycle.earliest(ready, length, DAYLIGHT if daylight else DARK)
    window = Window(float(dark), float(dark + rest), float(first), daylight)
    found = put_off(np.array([ready], dtype=np.float32), window, float(length))[0]
    assert found == (ready if exact is None else exact)
    assert lit(float(ready), window, float(length)) == found


def test_a_way_with_one_bracket_varies_as_the_bracket_says() -> None:
    """Two inserted moves share it; drawn apart from each other, their sum would vary less."""
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    b.thing("p0", "person", at="room-a")
    b.excursion("one", ("p0",))
    go = b.action("go on", minutes(3))
    bracket = Duration(Fraction(600), Fraction(480), Fraction(1500))
    way = b.entry(b.task("all"), b.block("p0", place="room-a"), ("p0",), duration=bracket)
    b.step(way, action=go, cast=("p0",))
    b.step(way, action=go, cast=("p0",))
    net = network_of(EventGraph(b.checked().flow.excursions[0]))
    assert net is not None and net.keys[0] == net.keys[1]
    row = sample(net, [ends(net)], 20_000, 1).latest[0].astype(np.float64)
    whole = (480.0, 600.0, 1500.0)
    assert row.mean() == pytest.approx(mean(whole), abs=4 * spread(whole) / sqrt(len(row)))
    assert row.std() == pytest.approx(spread(whole), rel=0.03)


# --- what decides ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_criticality_is_what_delaying_each_step_shows(seed: int) -> None:
    """A step is critical in a run exactly when a little more of it moves the end, where light and clock have no say."""
    net = random_network(seed, 16)._replace(windows=(None,) * 16, floors=(0.0,) * 16)
    count = 64
    found = sample(net, [ends(net)], count, seed, critical_to=0)
    draws = Draws(net, seed, Common())
    draws.begin(0, count)
    rows = [np.broadcast_to(np.asarray(draws.step(step), dtype=np.float64), count) for step in range(net.steps)]
    for step in range(net.steps):
        moved = 0
        for k in range(count):
            lengths = [float(row[k]) for row in rows]
            before = max(simulated(net, lengths))
            lengths[step] += 0.5
            moved += max(simulated(net, lengths)) > before + 0.4
        assert moved == found.critical[step]


def test_a_wait_for_the_clock_ends_the_critical_path() -> None:
    net = chain([(60.0, 60.0, 60.0), (300.0, 360.0, 600.0)])._replace(floors=(0.0, 7200.0))
    assert sample(net, [ends(net)], 100, 1, critical_to=0).critical == (0, 100)


def test_a_target_is_the_latest_of_its_events_with_what_is_added() -> None:
    net = random_network(4, 12)
    single = sample(net, [Target(((5, 0.0),)), Target(((8, 0.0),))], 160, 2).latest
    both, none = sample(net, [Target(((5, 600.0), (8, 30.0))), Target(())], 160, 2).latest
    assert np.allclose(both, np.maximum(single[0] + 600, single[1] + 30))
    assert not none.any()


def test_the_activity_network_has_its_published_figures() -> None:
    names = list(CONSTRUCTION)
    ranges = [tuple(map(float, CONSTRUCTION[name][1:])) for name in names]
    net = network(ranges, [[names.index(one) for one in CONSTRUCTION[name][0]] for name in names])  # type: ignore
    found = pert(net, [event for event, _ in ends(net).events])
    assert "".join(names[step] for step in found.path) == "ABCEFJLN"
    assert found.mean == pytest.approx(44)
    assert found.spread**2 == pytest.approx(9)
    assert found.chance(47) == pytest.approx(0.8413, abs=5e-5)


# --- the same again --------------------------------------------------------------------------------------------------


def test_neither_blocks_nor_order_change_a_number() -> None:
    net = random_network(3, 30)
    one = sample(net, [ends(net)], 1000, 9, Common(0.3, 0.1), critical_to=0)
    for block in (16, 160, 992, 4096):
        other = sample(net, [ends(net)], 1000, 9, Common(0.3, 0.1), critical_to=0, block=block)
        assert other.latest.tobytes() == one.latest.tobytes()
        assert other.critical == one.critical
    fewer = sample(net, [ends(net)], 333, 9, Common(0.3, 0.1))
    assert np.array_equal(fewer.latest, one.latest[:, :333])


def test_another_seed_gives_other_numbers() -> None:
    net = random_network(3, 30)
    assert not np.array_equal(sample(net, [ends(net)], 100, 1).latest, sample(net, [ends(net)], 100, 2).latest)


def test_what_an_edit_leaves_alone_keeps_its_draws() -> None:
    short, long = chain(RANGES[:3]), chain(RANGES)
    few, many = Draws(short, 1, Common(0.2)), Draws(long, 1, Common(0.2))
    few.begin(0, 160)
    many.begin(0, 160)
    for step in range(3):
        assert np.array_equal(few.step(step), many.step(step))
