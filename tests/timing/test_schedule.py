"""Earliest times against an independent longest path, and what waits and unknown durations do to them."""

from __future__ import annotations

import itertools
import json
from fractions import Fraction
from pathlib import Path

import networkx as nx
from hypothesis import given, settings
from hypothesis import strategies as st
from outputs.small_plan import Builder, minutes, pier

from jackstay.flow.records import ExcursionFlow
from jackstay.pipeline import check
from jackstay.timing.records import Times
from jackstay.timing.schedule import schedule

DEMO = Path(__file__).resolve().parents[2] / "examples" / "tarn-depot" / "campaign.stay"


def flow_of(
    plan: list[tuple[int, tuple[int, ...], int | None]],
    links: list[tuple[int, int]],
    beside: list[tuple[int, int]] = (),
    people: int = 3,
) -> ExcursionFlow:
    """plan: (minutes or None, actors, not-used) per step; links: (earlier, later) beyond the actors' own lists."""
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    for number in range(people):
        b.thing(f"p{number}", "person", at="room-a")
    b.excursion("one", tuple(f"p{number}" for number in range(people)))
    task = b.task("all")
    block = b.block("p0")
    for length, actors, _ in plan:
        action = b.action("work", minutes(length) if length is not None else None)
        names = tuple(f"p{one}" for one in actors)
        b.step(b.entry(task, block, names, action, text="work"))
    flow = b.checked().flow.excursions[0]
    for earlier, later in links:
        flow.predecessors[later] = tuple(sorted({*flow.predecessors[later], earlier}))
    flow.companions = list(beside)
    return flow


@st.composite
def random_plan(draw: st.DrawFn) -> ExcursionFlow:
    count = draw(st.integers(1, 9))
    casts = st.sets(st.integers(0, 2), min_size=1, max_size=3).map(lambda found: tuple(sorted(found)))
    plan = [(draw(st.integers(0, 9)), draw(casts), None) for _ in range(count)]
    pairs = [(a, b) for b in range(count) for a in range(b)]
    links = draw(st.lists(st.sampled_from(pairs), max_size=6)) if pairs else []
    return flow_of(plan, links)


@settings(max_examples=60, deadline=None)
@given(random_plan())
def test_earliest_times_are_the_longest_paths(flow: ExcursionFlow) -> None:
    times = schedule(flow)
    assert times is not None
    graph = nx.DiGraph()
    graph.add_node("begin")
    lists: dict[str, list[int]] = {}
    for step in flow.steps:
        graph.add_edge("begin", step.index, weight=0)
        for actor in step.cast:
            lists.setdefault(actor.name, []).append(step.index)
    length = {step.index: times.durations[step.index] for step in flow.steps}
    for own in lists.values():
        for earlier, later in itertools.pairwise(own):
            graph.add_edge(earlier, later, weight=length[earlier])
    for later, before in enumerate(flow.predecessors):
        for earlier in before:
            graph.add_edge(earlier, later, weight=length[earlier])
    distance = {"begin": Fraction(0)}
    for node in nx.topological_sort(graph):
        for _, after, data in graph.out_edges(node, data=True):
            distance[after] = max(distance.get(after, Fraction(0)), distance[node] + data["weight"])
    assert [distance[step.index] for step in flow.steps] == list(times.start)
    assert times.makespan == max(distance[i] + length[i] for i in length)


@settings(max_examples=40, deadline=None)
@given(random_plan())
def test_nobody_s_own_work_fits_into_less_than_the_whole(flow: ExcursionFlow) -> None:
    times = schedule(flow)
    assert times is not None
    for actor in flow.columns:
        own = sum((times.durations[s.index] or 0 for s in flow.steps if actor in s.cast), Fraction(0))
        waited = sum((d.until - d.since for d in times.delays if d.actor is actor), Fraction(0))
        if actor in times.actor_end:
            assert own + waited == times.actor_end[actor] <= times.makespan
        else:
            assert own == 0


def test_a_step_beside_another_starts_after_it_and_keeps_it_open() -> None:
    flow = flow_of([(5, (0,), None), (2, (0,), None), (4, (1,), None)], [], beside=[(2, 1)])
    times = schedule(flow)
    assert times is not None
    assert times.start[2] == times.start[1] == 300
    assert times.end[1] == times.end[2] == 540
    (stretch,) = times.stretches
    assert (stretch.step, stretch.companion, stretch.by) == (1, 2, 120)


def test_a_step_without_a_duration_opens_every_later_time_and_no_earlier_one() -> None:
    flow = flow_of([(5, (0,), None), (None, (0,), None), (4, (0,), None), (9, (1,), None)], [])
    times = schedule(flow)
    assert times is not None
    assert times.durations[1] is None
    assert times.start_open == (False, False, True, False)
    assert times.end_open == (False, True, True, False)
    assert times.makespan_open
    assert times.actor_open == {one: one.name == "p0" for one in times.actor_open}


def test_a_circular_order_has_no_times() -> None:
    flow = flow_of([(1, (0,), None), (1, (1,), None)], [(0, 1), (1, 0)])
    assert schedule(flow) is None
    flow = flow_of([(1, (0,), None)], [])
    flow.complete = False
    assert schedule(flow) is None


def test_a_wait_names_its_call_and_its_length() -> None:
    flow = pier().flow.excursions[0]
    times = schedule(flow)
    assert times is not None
    wait = next(d for d in times.delays if d.actor.name == "teal" and d.mark is not None)
    assert wait.mark is not None and wait.mark.name == "bolts-out"
    assert (wait.since, wait.until) == (0, 19 * 60)  # 4 to go, 1 to draw, 14 (the bracket's likely value) to undo


def test_a_bracket_on_a_heading_is_shared_out_over_the_way() -> None:
    b = Builder()
    b.kind("person", "actor")
    b.kind("room", "location")
    b.thing("room-a", "room")
    b.thing("p0", "person", at="room-a")
    b.excursion("one", ("p0",))
    from jackstay.model.records import Duration

    arrival = b.entry(
        b.task("all"), b.block("p0", place="room-a"), ("p0",), duration=Duration(None, Fraction(600), Fraction(1200))
    )
    for usual in (1, 2):
        b.step(arrival, action=b.action("go", minutes(usual)))
    times = schedule(b.checked().flow.excursions[0])
    assert times is not None
    assert times.durations == (300, 600)


def test_the_published_activity_network() -> None:
    """Every earliest and latest start, the slack, the critical set. Source in published.json."""
    case = json.loads((Path(__file__).parent / "published.json").read_text(encoding="utf-8"))["activity_network"]
    names = sorted(case["acts"])
    # an order of the network: by the published earliest starts
    order = sorted(names, key=lambda name: case["ES"][name])
    at = {name: i for i, name in enumerate(order)}
    links = [(at[before], at[name]) for name in order for before in case["acts"][name][0]]
    plan = [(case["acts"][name][1], (at[name],), None) for name in order]
    times = schedule(flow_of(plan, links, people=len(order)))
    assert times is not None
    assert {name: times.start[at[name]] / 60 for name in names} == case["ES"]
    assert {name: times.latest_start[at[name]] / 60 for name in names} == case["LS"]
    assert {name: times.slack[at[name]] / 60 for name in names} == {
        name: case["LS"][name] - case["ES"][name] for name in names
    }
    for name in names:
        assert times.end[at[name]] - times.start[at[name]] == 60 * case["acts"][name][1]
        assert times.latest_end[at[name]] - times.latest_start[at[name]] == 60 * case["acts"][name][1]
    assert times.makespan == 60 * case["makespan"]
    assert {order[i] for i in times.critical} == set(case["crit"])
    assert {name for name in names if times.slack[at[name]] == 0} == set(case["crit"])


def simulated(flow: ExcursionFlow, times: Times) -> tuple[list[Fraction], list[Fraction]]:
    """Crew at work: at each moment whoever is free begins their next step as soon as what it waits for is over. Takes
    durations only from the schedule; no step of the demo runs beside another that it would keep open."""
    own: dict[object, list[int]] = {}
    for step in flow.steps:
        for actor in step.cast:
            own.setdefault(actor, []).append(step.index)
    light = flow.excursion.light
    start: dict[int, Fraction] = {}
    end: dict[int, Fraction] = {}
    now = Fraction(0)
    while len(end) < len(flow.steps):
        begun = True
        while begun:
            begun = False
            for step in flow.steps:
                i = step.index
                if i in start or any(p not in end or end[p] > now for p in flow.predecessors[i]):
                    continue
                if any(own[actor].index(i) and own[actor][own[actor].index(i) - 1] not in end for actor in step.cast):
                    continue
                if any(outer not in start for inner, outer in flow.companions if inner == i):
                    continue
                bounds = [*step.entry.bounds, *step.entry.task.bounds]
                held = not step.inserted or step.entry.action is None
                if held and any(b.sort == "not-before" and b.value > now for b in bounds):
                    continue
                longest = times.triples[i].most if times.triples[i] is not None else 0
                if held and light is not None and any(b.sort == "light" for b in bounds):
                    turns = [light.first.value + n * light.every.value for n in range(20)]
                    if any(dark < now + longest and now < dark + light.dark.value for dark in turns):
                        continue
                start[i] = now
                end[i] = now + (times.durations[i] or 0)
                begun = True
        later = [one for one in end.values() if one > now]
        later += [b.value for s in flow.steps for b in s.entry.bounds if b.sort == "not-before" and b.value > now]
        if light is not None:
            later += [
                at for n in range(20) if (at := light.first.value + n * light.every.value + light.dark.value) > now
            ]
        if not later:
            break
        now = min(later)
    return [start[i] for i in range(len(flow.steps))], [end[i] for i in range(len(flow.steps))]


def test_the_demo_goes_as_a_simulation_of_its_crew_goes() -> None:
    checked = check(DEMO)
    assert checked.flow is not None
    for flow in checked.flow.excursions:
        times = schedule(flow)
        assert times is not None and not times.makespan_open
        start, end = simulated(flow, times)
        stretched = {stretch.step for stretch in times.stretches}
        assert start == list(times.start)
        assert [e for i, e in enumerate(end) if i not in stretched] == [
            e for i, e in enumerate(times.end) if i not in stretched
        ]
