"""Dynamic controllability against published verdicts, a game played to its end, and a second algorithm.

The game knows nothing of distances: nature ends links, the plan's side starts points, tick by tick, in every way. The
suite plays a few hundred tiny networks; as many more as you like with

    python tests/timing/test_controllable.py --networks 20000 --seed 7

Broken copies of the module, each with one line of it changed, must be told from the real one by the same comparisons.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[1])]

from benchmarks.controllability import choreography, naive, ratios
from hypothesis import given, settings
from hypothesis import strategies as st

from jackstay.timing import controllable as real
from jackstay.timing.controllable import (
    LEAST,
    MOST,
    PLAIN,
    Conflict,
    Link,
    Part,
    Uncertain,
    conflict,
    conflict_by_waits,
    missed_deadline,
    only_deadlines,
)
from jackstay.timing.network import Constraint, Network, consistent

PUBLISHED = json.loads((Path(__file__).parent / "published.json").read_text(encoding="utf-8"))["stnu"]

# --- the game

State = tuple[
    int, ...
]  # how many ticks ago each point was, -1: not yet; none counts beyond the largest number there is


def winnable(uncertain: Uncertain) -> bool:
    """Whether the plan's side has a strategy, by trying all. Whole ticks are enough, as all amounts are whole."""
    amounts = [abs(one.most) for one in uncertain.constraints] + [one.most for one in uncertain.links]
    beyond = int(max(amounts, default=0)) + 1
    ends = {one.end for one in uncertain.links}
    own = [point for point in range(uncertain.points) if point not in ends]

    def happen(state: State, point: int) -> State | None:
        """The point comes now; None if that breaks a constraint."""
        after = (*state[:point], 0, *state[point + 1 :])
        for source, target, most, _ in uncertain.constraints:
            if point in (source, target) and after[source] >= 0 and after[target] >= 0:
                apart = after[source] - after[target]
                if apart > most:
                    return None
        return after

    @cache
    def nature(state: State, later: frozenset[int]) -> bool:
        """Nature says of each link that may end now whether it does; later: of which it has said no for this tick."""
        for k, link in enumerate(uncertain.links):
            age = state[link.start]
            if age < link.least or age < 0 or state[link.end] >= 0 or k in later:
                continue
            now = happen(state, link.end)
            if now is None or not nature(now, later):
                return False
            return age == link.most or nature(state, later | {k})
        return plan(state, later)

    @cache
    def plan(state: State, later: frozenset[int]) -> bool:
        """The plan's side lets a point come, or waits a tick."""
        if min(state) >= 0:
            return True
        for point in own:
            if state[point] < 0:
                now = happen(state, point)
                if now is not None and nature(now, later):
                    return True
        aged = tuple(-1 if age < 0 else min(age + 1, beyond) for age in state)
        late = any(
            aged[one.source] > one.most and aged[one.target] < 0 <= aged[one.source] for one in uncertain.constraints
        )
        return not late and aged != state and nature(aged, frozenset())

    return nature((-1,) * uncertain.points, frozenset())


def tiny(rng: random.Random, most_points: int = 5) -> Uncertain:
    """A few points, one to three links, and constraints between any of them; about as many controllable as not."""
    points = rng.randint(3, most_points)
    free = list(range(points))
    rng.shuffle(free)
    links = []
    ends: set[int] = set()
    for _ in range(rng.randint(1, min(3, points - 2))):
        end = free.pop()
        start = rng.choice([point for point in range(points) if point != end and not circular(links, point, end)])
        least = rng.randint(0, 3)
        links.append(Link(start, end, least, least + rng.choice([0, 1, 1, 2, 3, 4]), f"link {end}"))
        ends.add(end)
    constraints = []
    for i in range(rng.randint(1, points + 1)):
        source, target = rng.sample(range(points), 2)
        low = rng.randint(-1, 3)
        if rng.random() < 0.6:
            constraints.append(Constraint(target, source, -low, rng.choice([None, f"after {i}"])))
        if rng.random() < 0.7:
            constraints.append(Constraint(source, target, low + rng.randint(0, 5), rng.choice([f"within {i}", "all"])))
    origin = rng.choice([point for point in range(points) if point not in ends])
    return Uncertain(points, constraints, links, origin)


def circular(links: list[Link], start: int, end: int) -> bool:
    """Whether a link from start to end would make starts wait for their own ends."""
    into = {one.end: one.start for one in links}
    while start in into:
        start = into[start]
        if start == end:
            return True
    return False


def compare(module: Any, uncertain: Uncertain, play: bool = True) -> bool:
    """The verdict of the module, which must be that of the game and of the second algorithm."""
    own = module.Uncertain(uncertain.points, uncertain.constraints, uncertain.links, uncertain.origin)
    found = module.conflict_by_waits(own)
    assert (found is None) is naive(uncertain), "the second algorithm"
    if play:
        assert (found is None) is winnable(uncertain), "the game"
    if found is not None:
        check_conflict(uncertain, found)
    chosen = module.conflict(own)
    assert (chosen is None) is (found is None)
    if chosen is not None:
        check_conflict(uncertain, chosen)
    if module.only_deadlines(own):
        assert (module.missed_deadline(own) is None) is (found is None), "everything as long as it can be"
    return found is None


def check_conflict(uncertain: Uncertain, found: Any) -> None:
    """What a `Conflict` promises: it adds up, it consists of what the network has, it is closed, it is one by itself,
    and no tag of a maximum can be spared."""
    assert sum(one.times * one.amount for one in found.parts) == -found.short_by < 0
    assert len({(one.what, one.of) for one in found.parts}) <= len(found.parts)
    constraints = [one.of for one in found.parts if one.what == PLAIN]
    links = list(dict.fromkeys(one.of for one in found.parts if one.what != PLAIN))
    assert set(constraints) <= set(uncertain.constraints)
    assert set(links) <= set(uncertain.links)
    if all(one.times == 1 for one in found.parts):
        ways = [walk(one) for one in found.parts]
        assert all(one[1] == after[0] for one, after in zip(ways, [*ways[1:], ways[0]], strict=True))
    balance = [0] * uncertain.points
    for one in found.parts:
        begin, end = walk(one)
        balance[begin] -= one.times
        balance[end] += one.times
    assert not any(balance), "as often into each point as out of it"
    assert not naive(Uncertain(uncertain.points, constraints, links, uncertain.origin))
    for tag in found.tags:
        rest = [one for one in constraints if not (one.most > 0 and one.tag == tag)]
        assert naive(Uncertain(uncertain.points, rest, links, uncertain.origin)), f"{tag} is not needed"


def walk(part: Any) -> tuple[int, int]:
    if part.what == PLAIN:
        return part.of.source, part.of.target
    return (part.of.start, part.of.end) if part.what == LEAST else (part.of.end, part.of.start)


def knotted(rng: random.Random) -> Uncertain:
    """Two to four links that are tied to one another in no order at all, with larger numbers."""
    count = rng.randint(2, 4)
    links = []
    for i in range(count):
        least = rng.randint(0, 3)
        links.append(Link(2 * i + 1, 2 * i + 2, least, least + rng.randint(2, 20), f"link {i}"))
    constraints = []
    for i in range(rng.randint(count, 3 * count)):
        source, target = rng.sample(range(1, 2 * count + 1), 2)
        constraints.append(Constraint(source, target, rng.randint(-8, 14), i))
    return Uncertain(2 * count + 1, constraints, links)


def tiny_ones(count: int, seed: object = 0) -> Iterator[Uncertain]:
    rng = random.Random(f"tiny {seed}")
    for _ in range(count):
        yield tiny(rng)


def test_the_game_and_the_second_algorithm_say_the_same() -> None:
    verdicts = [compare(real, uncertain) for uncertain in tiny_ones(1_200)]
    assert 400 < sum(verdicts) < 800, "both kinds are there"


def test_the_second_algorithm_says_the_same_of_knots() -> None:
    rng = random.Random("knots")
    verdicts = [compare(real, knotted(rng), play=False) for _ in range(400)]
    assert 60 < sum(verdicts) < 340


def test_the_second_algorithm_says_the_same_of_larger_ones() -> None:
    """Two and three actors who wait for one another, with windows that are kept, nearly kept, and not kept."""
    verdicts = []
    for seed in range(24):
        network = choreography(
            7, seed, 2 + seed % 2, share=0.4, tight=(1.0, 0.95, 0.8, 0.6)[seed % 4], deadlines=seed % 3 > 0
        )
        verdicts.append(compare(real, network, play=False))
    assert True in verdicts
    assert False in verdicts


# --- published verdicts


def published(name: str, more: list[tuple[str, str, int]] | None = None, tolerance: int | None = None) -> Uncertain:
    """One of the published networks, with its points in alphabetical order after an origin that nothing refers to."""
    said = PUBLISHED[name]
    rows = [(a, b, w) for a, b, w in said.get("ord", [])]
    if tolerance is not None:
        rows = [(a, b, tolerance) for a, b, _ in rows]
    rows += more or []
    for a, b, low, high in said.get("iv", []):
        rows += [(a, b, high), (b, a, -low)]
    names = sorted({one for a, b, _ in rows for one in (a, b)} | {one for a, _, _, c in said["cont"] for one in (a, c)})
    place = {one: i + 1 for i, one in enumerate(names)}
    constraints = [Constraint(place[a], place[b], w, f"{b} - {a}") for a, b, w in rows]
    links = [Link(place[a], place[c], low, high, a + c) for a, low, high, c in said["cont"]]
    return Uncertain(len(names) + 1, constraints, links)


@pytest.mark.parametrize("name", [name for name, said in PUBLISHED.items() if isinstance(said, dict)])
def test_published_verdicts(name: str) -> None:
    """cooking and neg_cycle: Nilsson, Kvarnström and Doherty 2013-2014; hunsberger_wait: Hunsberger; follow, precede:
    computed, by the game too."""
    assert (conflict(published(name)) is None) is PUBLISHED[name]["dc"]
    assert naive(published(name)) is PUBLISHED[name]["dc"]


@pytest.mark.parametrize("name", ["hunsberger_wait", "follow", "precede"])
def test_published_verdicts_by_playing(name: str) -> None:
    assert winnable(published(name)) is PUBLISHED[name]["dc"]


@pytest.mark.parametrize(("apart", "expected"), [(9, False), (10, True), (11, False)])
def test_cooking_starts_exactly_ten_minutes_after_the_drive(apart: int, expected: bool) -> None:
    """What Nilsson, Kvarnström and Doherty (2013) derive from the cooking example: C - D = 10."""
    network = published("cooking", [("D", "C", apart), ("C", "D", -apart)])
    assert (conflict_by_waits(network) is None) is expected
    assert naive(network) is expected


@pytest.mark.parametrize(("tolerance", "expected"), [(4, False), (5, True), (6, True)])
def test_cooking_to_within_less_than_five_minutes(tolerance: int, expected: bool) -> None:
    """The same example: five minutes are the least that can be promised (6: computed)."""
    network = published("cooking", tolerance=tolerance)
    assert (conflict_by_waits(network) is None) is expected
    assert naive(network) is expected
    if tolerance == 6:
        for apart, kept in ((8, False), (9, True), (11, True), (12, False)):
            exact = published("cooking", [("D", "C", apart), ("C", "D", -apart)], tolerance=6)
            assert (conflict_by_waits(exact) is None) is kept


def test_why_four_minutes_cannot_be_promised() -> None:
    """The tolerance on both sides, the drive at both its lengths and the cooking at both of its: 1 minute short each
    way. D and C are tied by nothing else, so their distance cancels out."""
    found = conflict_by_waits(published("cooking", tolerance=4))
    assert found is not None
    assert found.short_by == 2
    assert set(found.tags) == {"R - H", "H - R"}
    assert {(link.tag, what) for link, what in found.links} == {
        ("DH", LEAST),
        ("DH", MOST),
        ("CR", LEAST),
        ("CR", MOST),
    }


def test_why_the_negative_cycle_is_one() -> None:
    """neg_cycle: only the shortness of the link does harm."""
    found = conflict_by_waits(published("neg_cycle"))
    assert found is not None
    assert [what for _, what in found.links] == [LEAST]
    check_conflict(published("neg_cycle"), found)


# --- deadlines only


def deadlines_only(rng: random.Random) -> Uncertain:
    points = rng.randint(3, 6)
    links, constraints, ends = [], [], set()
    for end in rng.sample(range(1, points), rng.randint(1, points - 2)):
        start = rng.randrange(end)
        least = rng.randint(0, 2)
        links.append(Link(start, end, least, least + rng.randint(0, 3)))
        ends.add(end)
    for _ in range(rng.randint(1, points)):
        sooner, later = sorted(rng.sample(range(points), 2))
        if later not in ends:
            constraints.append(Constraint(later, sooner, -rng.randint(0, 3)))
    for point in rng.sample(range(1, points), rng.randint(1, 2)):
        constraints.append(Constraint(0, point, rng.randint(0, 9), f"by {point}"))
    return Uncertain(points, constraints, links)


def compare_deadlines(module: Any, uncertain: Uncertain, play: bool = False) -> bool:
    own = module.Uncertain(uncertain.points, uncertain.constraints, uncertain.links, uncertain.origin)
    assert module.only_deadlines(own) is True
    found = module.missed_deadline(own)
    assert (found is None) is naive(uncertain)
    assert (found is None) is (conflict_by_waits(uncertain) is None)
    if play:
        assert (found is None) is winnable(uncertain)
    if found is not None:
        check_conflict(uncertain, found)
        assert len(found.tags) <= 1
        assert all(what == MOST for _, what in found.links)
    return found is None


def test_deadlines_only_is_the_same_as_everything_being_long() -> None:
    rng = random.Random("deadlines")
    verdicts = [compare_deadlines(real, deadlines_only(rng), play=i < 150) for i in range(600)]
    assert 150 < sum(verdicts) < 450


def test_a_missed_deadline_names_the_longest_chain() -> None:
    """Two chains of 8 and 12 at most, by 9: the longer one, and 3 more would do."""
    links = [Link(0, 1, 1, 8, "short way"), Link(0, 2, 1, 7, "first half"), Link(3, 4, 1, 5, "second half")]
    order = [Constraint(3, 2, 0, "order"), Constraint(5, 1, 0), Constraint(5, 4, 0)]
    network = Uncertain(6, [*order, Constraint(0, 5, 9, "by nine")], links)
    found = missed_deadline(network)
    assert found is not None
    assert (found.tags, found.short_by) == (("by nine",), 3)
    assert found.links == ((links[2], MOST), (links[1], MOST))
    assert conflict(network) == found
    other = conflict_by_waits(network)
    assert other is not None
    assert (other.tags, other.short_by) == (("by nine",), 3)


def test_when_it_is_more_than_deadlines() -> None:
    link = Link(0, 1, 1, 4)
    for more in (Constraint(2, 1, 3), Constraint(1, 2, -1), Constraint(0, 2, -1)):
        network = Uncertain(3, [more], [link])
        assert not only_deadlines(network)
        with pytest.raises(ValueError, match="deadlines"):
            missed_deadline(network)


# --- properties


@st.composite
def uncertain_networks(draw: st.DrawFn) -> Uncertain:
    return tiny(random.Random(draw(st.integers(0, 10**9))), 5)


more_constraint = st.builds(
    Constraint, st.integers(0, 2), st.integers(0, 2), st.integers(-4, 6), st.sampled_from([None, "x"])
)


@given(uncertain_networks(), more_constraint)
@settings(max_examples=150, deadline=None)
def test_one_more_constraint_never_repairs(uncertain: Uncertain, more: Constraint) -> None:
    if conflict(uncertain) is not None:
        larger = Uncertain(uncertain.points, [*uncertain.constraints, more], uncertain.links, uncertain.origin)
        assert conflict(larger) is not None


@given(uncertain_networks(), st.data())
@settings(max_examples=150, deadline=None)
def test_a_narrower_link_never_harms(uncertain: Uncertain, data: st.DataObject) -> None:
    if conflict(uncertain) is None:
        links = []
        for one in uncertain.links:
            least = data.draw(st.integers(int(one.least), int(one.most)))
            links.append(one._replace(least=least, most=data.draw(st.integers(least, int(one.most)))))
        assert conflict(Uncertain(uncertain.points, uncertain.constraints, links, uncertain.origin)) is None


@given(uncertain_networks())
@settings(max_examples=100, deadline=None)
def test_without_uncertainty_it_is_consistency(uncertain: Uncertain) -> None:
    links = [one._replace(most=one.least) for one in uncertain.links]
    exact = [Constraint(one.start, one.end, one.most) for one in links]
    exact += [Constraint(one.end, one.start, -one.most) for one in links]
    plain = Network(uncertain.points, [*uncertain.constraints, *exact], uncertain.origin)
    assert (
        conflict(Uncertain(uncertain.points, uncertain.constraints, links, uncertain.origin)) is None
    ) is consistent(plain)


@given(uncertain_networks(), st.integers(2, 7), st.permutations(range(5)))
@settings(max_examples=100, deadline=None)
def test_neither_the_unit_nor_the_numbering_matters(uncertain: Uncertain, parts: int, new: list[int]) -> None:
    constraints = [
        one._replace(source=new[one.source], target=new[one.target], most=Fraction(one.most, parts))
        for one in reversed(uncertain.constraints)
    ]
    links = [
        Link(new[one.start], new[one.end], Fraction(one.least, parts), Fraction(one.most, parts))
        for one in uncertain.links
    ]
    other = Uncertain(5, constraints, links, new[uncertain.origin])
    assert (conflict(other) is None) is (conflict(uncertain) is None)


# --- by hand


def test_a_window_after_an_uncertain_end_is_kept_by_waiting() -> None:
    """B at most 2 after the end and not before it: wait for it. B 1 to 2 before it: the end would have to be known."""
    link = Link(0, 1, 3, 9, "sweep")
    assert conflict(Uncertain(3, [Constraint(2, 1, 0), Constraint(1, 2, 2, "within")], [link])) is None
    network = Uncertain(3, [Constraint(1, 2, -1), Constraint(2, 1, 2, "within")], [link])
    found = conflict(network)
    assert found is not None
    assert found.tags == ("within",)
    assert set(found.links) == {(link, LEAST), (link, MOST)}
    assert found.short_by == 5, "9 - 3 is the spread, 2 - 1 is the room"
    check_conflict(network, found)


def test_what_ends_may_be_acted_upon_at_once() -> None:
    link = Link(0, 1, 1, 5)
    assert conflict(Uncertain(3, [Constraint(2, 1, 0), Constraint(1, 2, 0, "at once")], [link])) is None


def test_two_actors_meet() -> None:
    """Both have to be at the door within 10 of each other. A spread of 20 is too much, unless one may wait."""

    def meeting(spread: int, wait: bool) -> Conflict | None:
        links = [Link(0, 1, 30, 30 + spread, "long way"), Link(2, 3, 5, 8, "short way")]
        meet = [Constraint(1, 3, 10, "meet"), Constraint(3, 1, 10, "meet")]
        before = [] if wait else [Constraint(0, 2, 25, "leave")]
        return conflict(Uncertain(4, [Constraint(2, 0, 0), *meet, *before], links))

    assert meeting(6, False) is None
    assert meeting(20, False) is not None
    found = meeting(20, True)
    assert found is None, "the one with the short way sets out when the other is there"


def test_a_conflict_may_go_over_a_part_more_than_once() -> None:
    """Found among made-up ones: the second link has to be short twice over, and the parts still add up."""
    first, second = Link(1, 2, 1, 12, "first"), Link(3, 4, 2, 8, "second")
    between = [Constraint(2, 4, 6), Constraint(4, 2, 2), Constraint(4, 3, -6)]
    network = Uncertain(5, between, [first, second])
    found = conflict_by_waits(network)
    assert found is not None
    assert [part.times for part in found.parts if (part.what, part.of) == (LEAST, second)] == [2]
    assert found.short_by == -(1 + 6 - 8 + 2 * 2 - 6 + 2 - 12) == 13
    check_conflict(network, found)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Uncertain(2, [], [Link(0, 2, 1, 2)]),
        lambda: Uncertain(2, [Constraint(0, 3, 1)]),
        lambda: Uncertain(2, [], [Link(0, 1, 3, 2)]),
        lambda: Uncertain(2, [], [Link(0, 1, -1, 2)]),
        lambda: Uncertain(3, [], [Link(0, 1, 1, 2), Link(2, 1, 1, 2)]),
        lambda: Uncertain(3, [], [Link(1, 1, 1, 2)]),
        lambda: Uncertain(3, [], [Link(1, 0, 1, 2)]),
    ],
)
def test_links_that_make_no_sense(make: Callable[[], object]) -> None:
    with pytest.raises(ValueError, match=r"link|constraint"):
        make()


def test_long_chains_do_not_run_out_of_stack() -> None:
    """3,000 steps one after another, with a deadline that is met, and one that is a tick too soon."""
    links = [Link(2 * i, 2 * i + 1, 1, 3) for i in range(3_000)]
    order = [Constraint(2 * i + 2, 2 * i + 1, 0) for i in range(2_999)]
    for room in (9_000, 8_999):
        network = Uncertain(6_000, [*order, Constraint(0, 5_999, room, "by")], links)
        for way in (conflict_by_waits, missed_deadline):
            found = way(network)
            assert (found is None) is (room == 9_000)
            if found is not None:
                assert (found.short_by, found.tags, len(found.links)) == (1, ("by",), 3_000)


def test_parts_count() -> None:
    assert Part(LEAST, Link(0, 1, 3, 5), 2).amount == 3
    assert Part(MOST, Link(0, 1, 3, 5), 2).amount == -5
    assert Part(PLAIN, Constraint(0, 1, 7), 1).amount == 7


def test_the_benchmark_measures_what_it_says() -> None:
    row = ratios(steps=40, small=6, times=1)
    assert row.steps == 40
    assert row.small == 6
    assert row.waits > 0
    assert row.deadlines > 0
    assert row.times_naive > 1, "cubic tables are never quicker"


# --- broken copies

BREAKS = {
    "a link is played against itself": ("if split != source and (split not", "if (split not"),
    "no link is ever short": ("self.short[link.end] = (split, (LEAST, link))", "pass"),
    "a short link never meets another that is long": (
        "if split != source and (split not",
        "if split != source and source < len(self.into) - len(self.short) and (split not",
    ),
    "a derived arc of nothing is dropped": ("if length >= 0:", "if length > 0:"),
    "no derived arcs": ("if length >= 0:", "if length > 10**9:"),
    "the whole of a link is spread": (
        "self._arc(link.end, split, link.least - link.most,",
        "self._arc(link.end, split, -link.most,",
    ),
    "points below nothing are not worked at first": (
        "if self.below[point] and not self.done[point]:",
        "if point == source:",
    ),
    "the parts are not counted": (
        "counts[id(part)] = counts.get(id(part), 0) + counts[id(way)]",
        "counts[id(part)] = 1",
    ),
    "no tag is ever spared": (".conflict() or found", ".conflict() and found or found"),
    "the least is taken for the longest": (
        "Constraint(one.end, one.start, -one.most, one)",
        "Constraint(one.end, one.start, -one.least, one)",
    ),
    "minima on what nature chooses are let pass": ("one.most <= 0 and one.source not in ends", "one.most <= 0"),
    "windows pass for deadlines": ("one.most >= 0 if one.source == uncertain.origin else", "one.most >= 0 or"),
}


def broken(old: str, new: str) -> ModuleType:
    text = Path(real.__file__).read_text(encoding="utf-8")
    assert text.count(old) == 1, old
    module = ModuleType("broken")
    exec(compile(text.replace(old, new), "broken", "exec"), module.__dict__)
    return module


def compare_all(module: Any) -> None:
    for uncertain in tiny_ones(500, "broken"):
        compare(module, uncertain, play=False)
    rng = random.Random("broken")
    for _ in range(100):
        compare_deadlines(module, deadlines_only(rng))


def test_the_comparisons_pass_the_real_one() -> None:
    compare_all(real)


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_copy_is_caught(name: str) -> None:
    module = broken(*BREAKS[name])
    with pytest.raises(AssertionError):
        compare_all(module)


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description="Play more networks than the suite does.")
    parser.add_argument("--networks", type=int, default=5_000)
    parser.add_argument("--seed", default="more")
    args = parser.parse_args(arguments)
    rng = random.Random(f"deadlines {args.seed}")
    kept = sum(compare(real, uncertain) for uncertain in tiny_ones(args.networks, args.seed))
    met = sum(compare_deadlines(real, deadlines_only(rng), play=True) for _ in range(args.networks))
    print(f"{args.networks} networks: {kept} controllable; as many with deadlines only: {met}; all agree")
    return 0


if __name__ == "__main__":
    sys.exit(main())
