"""How long things last: against a plain judge that looks at small plans every half minute, on many days.

The judge knows nothing of `timing.truth`, `cells` or `spread`: it takes the steps with what they change and their
times, and asks at each moment whether any choice between the old and the new value of what is in flux makes each
literal true."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from fractions import Fraction
from itertools import pairwise, product
from pathlib import Path
from typing import Any

import pytest
from worlds import clean, thing

from jackstay.flow.analyse import analyse
from jackstay.flow.records import ExcursionFlow, Flow
from jackstay.flow.state import State
from jackstay.flow.tests import Judge as FlowJudge
from jackstay.model.records import World
from jackstay.timing.cells import possible_stretches
from jackstay.timing.events import EventGraph
from jackstay.timing.lasting import check_lasting
from jackstay.timing.passes import earliest
from jackstay.timing.schedule import schedule
from jackstay.timing.spread import Spread
from jackstay.timing.truth import cases_of, stretches

MINUTE = 60
WORDS = """
use units
kind spot is location
  inside
kind fire is location
  has heat: on or off, normally on
kind rod is item
  has state: clean or dirty, usually dirty
kind hand is actor
  holds 3 by belt
action walk to PLACE: spot
  by hand
  serves actor at PLACE along paths
  makes actor at PLACE
  takes 2 min
action quench FIRE: fire
  by hand
  makes heat of FIRE is off from afar
  takes 3 min
action kindle FIRE: fire
  by hand
  makes heat of FIRE is on from afar
  takes 3 min
action wipe ROD: rod
  by hand
  makes state of ROD is clean from afar
  takes 1 min
action loiter
  by hand
  takes 5 min
action tend FIRE: fire
  by hand
  works on FIRE
  takes 4 min
location yard : spot
location barn : spot, sees yard
location loft : spot
path yard to barn 5 m
path barn to loft 5 m
location fire-a : fire, within reach of yard
location fire-b : fire, within reach of yard
actor ida, per : hand, at yard
item rod-a : rod, in belt of ida
"""
Literal = Callable[[dict[Any, Any], set[tuple[str, str]]], bool]  # (values by variable, who tends what)

# --- the judge -------------------------------------------------------------------------------------------------------


class Judge:
    def __init__(self, world: World, flow: ExcursionFlow, minutes: Sequence[tuple[Fraction, Fraction]]) -> None:
        self.world, self.flow = world, flow
        self.times = minutes  # start and end of each step, in minutes

    def at(self, moment: Fraction) -> tuple[list[list[Any]], set[tuple[str, str]]]:
        """Every choice of values at a moment, and who tends what just then."""
        values = list(self.flow.start)
        flux: list[tuple[int, Any, Any]] = []
        tending: set[tuple[str, str]] = set()
        for step in sorted(self.flow.steps, key=lambda one: (self.times[one.index][1], one.index)):
            start, end = self.times[step.index]
            if end <= moment:
                for change in step.changes:
                    values[change.var] = change.after
        for step in self.flow.steps:
            start, end = self.times[step.index]
            if start < moment < end:
                flux += [(change.var, values[change.var], change.after) for change in step.changes]
                if step.action is not None and step.action.text.startswith("tend"):
                    tending.add((step.binding[0].name, step.binding[2].name))
        choices = []
        for picked in product(*((old, new) for _, old, new in flux)):
            one = list(values)
            for (var, _, _), value in zip(flux, picked, strict=True):
                one[var] = value
            choices.append(one)
        return choices, tending

    def runs(self, literals: Sequence[Literal]) -> list[tuple[Fraction, Fraction]]:
        """The stretches in which all can be true, in minutes."""
        last = max((end for _, end in self.times), default=Fraction(0))
        moments = [Fraction(n, 2) for n in range(int(last * 2) + 1)]
        found: list[tuple[Fraction, Fraction]] = []
        since: Fraction | None = None
        before = Fraction(0)
        for moment in moments:
            choices, tending = self.at(moment)
            true = all(any(literal(self._named(one), tending) for one in choices) for literal in literals)
            if true and since is None:
                # what begins to be in flux at a whole minute is first seen half a minute later
                since = moment if moment.denominator == 1 else moment - Fraction(1, 2)
            if not true and since is not None:
                found.append((since, before if before.denominator == 1 else before + Fraction(1, 2)))
                since = None
            before = moment
        if since is not None:
            found.append((since, last))
        return found

    def _named(self, values: list[Any]) -> dict[Any, Any]:
        return {(v.thing.name, v.sort, v.prop): value for v, value in zip(self.world.variables, values, strict=True)}


def off(fire: str) -> Literal:
    return lambda values, _: values[fire, "property", "heat"] == "off"


def place(who: str, values: dict[Any, Any]) -> str:
    return str(values[who, "place", ""].name)


def at(who: str, where: str) -> Literal:
    return lambda values, _: place(who, values) == where


def unseen(values: dict[Any, Any], _: object) -> bool:
    pair = {place("ida", values), place("per", values)}
    return len(pair) == 2 and pair != {"yard", "barn"}


def tends(who: str, fire: str) -> Literal:
    return lambda _, tending: (who, fire) in tending


def negated(literal: Literal) -> Literal:
    return lambda values, tending: not literal(values, tending)


def nobody_at(where: str) -> Literal:
    return lambda values, _: "ida" != where != "per" and where not in (place("ida", values), place("per", values))


# A rule's text, and the literals of each of its cases.
RULES: list[tuple[str, list[list[Literal]]]] = [
    ("heat of FIRE: fire is off longer than {}", [[off("fire-a")], [off("fire-b")]]),
    ("ida not in sight of per longer than {}", [[unseen]]),
    ("WHO: hand not in sight of OTHER: hand longer than {}", [[unseen]]),
    ("heat of fire-a is off longer than {} while heat of fire-b is off", [[off("fire-a"), off("fire-b")]]),
    ("ida at barn longer than {} while heat of fire-a is off", [[at("ida", "barn"), off("fire-a")]]),
    ("nobody of hand at loft longer than {}", [[nobody_at("loft")]]),
    (
        "anyone of hand at barn longer than {}",
        [[lambda values, _: "barn" in (place("ida", values), place("per", values))]],
    ),
    (
        "everyone of hand at yard longer than {} while heat of fire-a is on",
        [
            [
                lambda values, _: place("ida", values) == place("per", values) == "yard",
                negated(off("fire-a")),
            ]
        ],
    ),
    (
        "heat of FIRE: fire is on longer than {} while ida not working on FIRE",
        [[negated(off(f)), negated(tends("ida", f))] for f in ("fire-a", "fire-b")],
    ),
]


def written(pick: random.Random, uncertain: bool) -> str:
    """A plan for two without races: each has one fire of their own."""
    blocks = []
    for n in range(pick.randint(3, 7)):
        who = pick.choice(("ida", "per"))
        fire = "fire-a" if who == "ida" else "fire-b"
        wait = f", on m{pick.randrange(n)}" if n and pick.random() < 0.4 else ""
        where = pick.choice(("", " at yard", " at barn", " at loft"))
        act = pick.choice((f"quench {fire}", f"kindle {fire}", f"tend {fire}", "loiter"))
        if uncertain and pick.random() < 0.5:
            low = pick.randint(1, 6)
            time = f"[{low + 1} min, {low} to {low + pick.randint(2, 9)}]"
        else:
            time = f"[{pick.randint(1, 9)} min]"
        blocks.append(f"    {who}{where}{wait}\n      {act} {time}, says m{n}\n")
    return "\nexcursion one\n  crew ida, per\n  task work : required\n" + "".join(blocks)


def judged(world: World, flow: Flow) -> list[tuple[str, dict[str, Any]]]:
    told: list[tuple[str, dict[str, Any]]] = []
    times = {one: schedule(one) for one in flow.excursions}
    assert None not in times.values()
    check_lasting(world, flow, times, lambda rule, at, /, **facts: told.append((rule, facts)))  # type: ignore[arg-type]
    return told


def minutes_of(graph: EventGraph, lengths: Sequence[int]) -> list[tuple[Fraction, Fraction]]:
    early = earliest(graph, lengths)
    assert early is not None
    return [
        (graph.seconds(start) / MINUTE, graph.seconds(end) / MINUTE)
        for start, end in zip(early.start, early.end, strict=True)
    ]


@pytest.mark.parametrize("seed", range(90))
def test_nominal_stretches_agree(tmp_path: Path, seed: int) -> None:
    pick = random.Random(seed)
    text, cases = RULES[seed % len(RULES)]
    limit = pick.randint(2, 14)
    world = clean(tmp_path, WORDS + f"rule r\n  never {text.format(f'{limit} min')}\n" + written(pick, False))
    flow = analyse(world)
    (one,) = flow.excursions
    graph = EventGraph(one)
    judge = Judge(world, one, minutes_of(graph, graph.likely))
    expected = sorted(b - a for case in cases for a, b in judge.runs(case) if b - a > limit)
    told = judged(world, flow)
    assert {rule for rule, _ in told} <= {"lasts-too-long"}
    assert sorted(facts["seconds"] / MINUTE for _, facts in told) == expected


def extremes(graph: EventGraph) -> list[list[int]]:
    spans = [tuple(dict.fromkeys(three)) for three in zip(graph.least, graph.likely, graph.most, strict=True)]
    return [list(one) for one in product(*spans)]


@pytest.mark.parametrize("seed", range(1000, 1072))
def test_other_days_agree(tmp_path: Path, seed: int) -> None:
    """What is called clean is kept on every day that takes each step at its least, likely or most; what may break is
    broken on one of them."""
    pick = random.Random(seed)
    text, cases = RULES[seed % len(RULES)]
    limit = pick.randint(6, 20)
    world = clean(tmp_path, WORDS + f"rule r\n  never {text.format(f'{limit} min')}\n" + written(pick, True))
    flow = analyse(world)
    (one,) = flow.excursions
    graph = EventGraph(one)
    days = extremes(graph)
    told = judged(world, flow)
    verdict = told[0][0] if told else "clean"
    assert {rule for rule, _ in told} <= {verdict}
    some = days[:: max(1, len(days) // 60)]
    longest = Fraction(0)
    for lengths in [*some, graph.most, graph.least]:
        judge = Judge(world, one, minutes_of(graph, lengths))
        longest = max([longest, *(b - a for case in cases for a, b in judge.runs(case))])
    if verdict == "clean":
        assert longest <= limit
    elif verdict == "may-last-too-long":
        assert told[0][1]["seconds"] > limit * MINUTE
        assert longest > limit or len(some) < len(days)


def test_little_is_left_undecided(tmp_path: Path) -> None:
    verdicts: dict[str, int] = {}
    for seed in range(2000, 2120):
        pick = random.Random(seed)
        text, _ = RULES[seed % len(RULES)]
        limit = pick.randint(6, 20)
        world = clean(tmp_path, WORDS + f"rule r\n  never {text.format(f'{limit} min')}\n" + written(pick, True))
        told = judged(world, analyse(world))
        verdict = told[0][0] if told else "clean"
        verdicts[verdict] = verdicts.get(verdict, 0) + 1
    assert verdicts.get("not-decided", 0) <= 3
    assert min(verdicts.get(one, 0) for one in ("clean", "may-last-too-long", "lasts-too-long")) >= 8


@pytest.mark.parametrize("seed", range(4000, 4060))
def test_every_stretch_of_every_day_is_possible(tmp_path: Path, seed: int) -> None:
    """What `cells` lists holds whatever day comes: durations to the second, between least and most; and no day exceeds
    the bounds of `spread`."""
    pick = random.Random(seed)
    text, _ = RULES[seed % len(RULES)]
    world = clean(tmp_path, WORDS + f"rule r\n  never {text.format('9 min')}\n" + written(pick, True))
    (one,) = analyse(world).excursions
    graph = EventGraph(one)
    spread = Spread(graph)
    cases = cases_of(world.rules[0], FlowJudge(world, State(0)))
    assert cases
    for case in cases:
        possible = possible_stretches(world, one, case, spread)
        assert possible is not None
        for _ in range(40):
            lengths = [pick.randint(*ends) for ends in zip(graph.least, graph.most, strict=True)]
            early = earliest(graph, lengths)
            assert early is not None
            start, end = ([graph.seconds(t) for t in ticks] for ticks in (early.start, early.end))
            for held in stretches(world, one, start, end, (case,))[0][0]:
                at = {2 * i for i, t in enumerate(start) if t == held.since}
                at |= {2 * i + 1 for i, t in enumerate(end) if t == held.since}
                over = {2 * i for i, t in enumerate(start) if t == held.until}
                over |= {2 * i + 1 for i, t in enumerate(end) if t == held.until}
                fits = [
                    (began, ended)
                    for began, ended in possible
                    if (began is None if held.began is None else began in at)
                    and (ended is None if held.ended is None else ended in over)
                ]
                assert fits
                for began, ended in fits:
                    bounds = spread.after(began) if began is not None else None
                    if bounds is not None and ended is not None:
                        assert held.until - held.since <= graph.seconds(bounds[ended])


# --- renewals --------------------------------------------------------------------------------------------------------

WIPES = """
rule wiped
  always state of rod-a is clean every {} while heat of fire-a is off
excursion one
  crew ida, per
  task work : required
    ida
      quench fire-a [2 min]
      loiter [5 min]
      wipe rod-a [1 min]
      loiter [6 min]
      wipe rod-a [1 min]
      loiter [3 min]
      kindle fire-a [2 min]
      loiter [30 min]
"""


@pytest.mark.parametrize(
    ("limit", "seconds"),
    # off from 0 to 20 min; wiped at 8 and (clean already) at 15 min
    [("8 min", None), ("7.9 min", 480), ("7 min", 480), ("5 min", 480), ("4 min", 480)],
)
def test_made_again_in_time(tmp_path: Path, limit: str, seconds: int | None) -> None:
    world = clean(tmp_path, WORDS + WIPES.format(limit))
    told = judged(world, analyse(world))
    assert [(rule, facts["seconds"]) for rule, facts in told] == ([("not-renewed", seconds)] if seconds else [])
    if told:
        facts = told[0][1]
        assert (facts["since"].action.text[:6], facts["until"].action.text[:4]) == ("quench", "wipe")


def test_what_already_holds_is_renewed_too(tmp_path: Path) -> None:
    """Without the second wipe 12 min pass from the first to the end of the condition."""
    plan = WIPES.replace("      loiter [6 min]\n      wipe rod-a [1 min]\n", "      loiter [7 min]\n")
    world = clean(tmp_path, WORDS + plan.format("10 min"))
    ((rule, facts),) = judged(world, analyse(world))
    assert (rule, facts["seconds"]) == ("not-renewed", 12 * MINUTE)
    assert (facts["since"].action.text[:4], facts["until"].action.text[:6]) == ("wipe", "kindle")


@pytest.mark.parametrize(
    ("most", "rules"), [(7, []), (8, ["may-not-be-renewed"]), (30, ["may-not-be-renewed"])], ids=str
)
def test_made_again_on_other_days(tmp_path: Path, most: int, rules: list[str]) -> None:
    """8 min to the first wipe with a loiter of 5; 10 min are reached with 7."""
    plan = WIPES.replace("loiter [5 min]", f"loiter [5 min, 4 to {most}]", 1)
    world = clean(tmp_path, WORDS + plan.format("10 min"))
    assert [rule for rule, _ in judged(world, analyse(world))] == rules


RISE = "rule r\n  always state of rod-a is clean every {} min while heat of fire-a is off\n"


def wiping(pick: random.Random) -> str:
    lines = []
    for n in range(pick.randint(4, 7)):
        act = pick.choice(("wipe rod-a", "wipe rod-a", "loiter", "quench fire-a", "kindle fire-a"))
        low = pick.randint(1, 5)
        time = f"[{low + 1} min, {low} to {low + pick.randint(2, 6)}]" if pick.random() < 0.6 else f"[{low} min]"
        who = pick.choice(("ida", "ida", "per"))
        act = "loiter" if who == "per" else act
        wait = f", on m{pick.randrange(n)}" if n and pick.random() < 0.3 else ""
        lines.append(f"    {who}{wait}\n      {act} {time}, says m{n}\n")
    return "\nexcursion one\n  crew ida, per\n  task work : required\n" + "".join(lines)


@pytest.mark.parametrize("seed", range(3000, 3080))
def test_renewals_agree_on_every_day(tmp_path: Path, seed: int) -> None:
    pick = random.Random(seed)
    limit = pick.randint(3, 14)
    world = clean(tmp_path, WORDS + RISE.format(limit) + wiping(pick))
    flow = analyse(world)
    (one,) = flow.excursions
    graph = EventGraph(one)

    def gap(lengths: Sequence[int]) -> Fraction:
        times = minutes_of(graph, lengths)
        wipes = [
            times[step.index][1] for step in one.steps if step.action is not None and step.action.text[:4] == "wipe"
        ]
        found = Fraction(0)
        for a, b in Judge(world, one, times).runs([off("fire-a")]):
            marks = [a, *sorted(when for when in wipes if a <= when <= b), b]
            found = max([found, *(later - sooner for sooner, later in pairwise(marks))])
        return found

    told = judged(world, flow)
    verdict = told[0][0] if told else "clean"
    assert (verdict == "not-renewed") == (gap(graph.likely) > limit)
    days = extremes(graph)
    longest = max(gap(lengths) for lengths in [*days[:: max(1, len(days) // 60)], graph.most, graph.least])
    if verdict == "clean":
        assert longest <= limit
    elif verdict == "may-not-be-renewed":
        assert told[0][1]["seconds"] > limit * MINUTE
        assert longest > limit or len(days) > 60


# --- several excursions ----------------------------------------------------------------------------------------------

THREE = """
rule cold
  never heat of FIRE: fire is off longer than {limit}
excursion one
  crew ida, per
{first}  task work : required
    ida
      loiter [10 min]
      quench fire-a [2 min]
  left so: heat of fire-a is off
excursion two
  crew ida, per
  starts as one ends
{second}  task work : required
    ida
      loiter [10 min]
  left so: heat of fire-a is off
excursion three
  crew ida, per
  starts as two ends
{third}  task work : required
    ida
      loiter [10 min]
      kindle fire-a [2 min]
"""
DATED = {
    "first": "  begins 2027-03-01 at 9 h\n",
    "second": "  begins 2027-03-02 at 9 h\n",
    "third": "  begins 2027-03-04 at 10 h\n",
}
# off from 9 h 10 min on the first to 10 h 12 min on the fourth
WHOLE = 3 * 86_400 + 62 * MINUTE


def three(folder: Path, limit: str, **begins: str) -> list[tuple[str, dict[str, Any]]]:
    world = clean(folder, WORDS + THREE.format(limit=limit, **begins))
    return judged(world, analyse(world))


def test_through_excursions_with_dates(tmp_path: Path) -> None:
    assert three(tmp_path, f"{WHOLE} s", **DATED) == []
    ((rule, facts),) = three(tmp_path, f"{WHOLE - 1} s", **DATED)
    assert (rule, facts["seconds"], facts["at_least"]) == ("lasts-too-long", WHOLE, False)
    assert facts["flow"].excursion.name == "three" and facts["since_flow"].excursion.name == "one"
    assert facts["since_step"].action.text.startswith("quench") and facts["until"].action.text.startswith("kindle")


def test_through_excursions_without_a_date(tmp_path: Path) -> None:
    ((rule, facts),) = three(tmp_path, "60 d", **{**DATED, "second": ""})
    assert (rule, facts["what"]) == ("not-decided", "rule")
    assert facts["reason"].startswith("how long lies between one, two and three is not said")
    # 2 + 10 + 12 min in the excursions alone
    ((rule, facts),) = three(tmp_path, "23 min", **{**DATED, "second": ""})
    assert (rule, facts["seconds"], facts["at_least"]) == ("lasts-too-long", 24 * MINUTE, True)


def test_dates_that_cannot_be(tmp_path: Path) -> None:
    ((rule, facts),) = three(tmp_path, "60 d", **{**DATED, "second": "  begins 2027-03-01 at 9 h 5 min\n"})
    assert rule == "not-decided" and "begins before the one before it is over" in facts["reason"]


# --- what is not decided ---------------------------------------------------------------------------------------------


def test_a_missing_duration(tmp_path: Path) -> None:
    hum = "action hum\n  by hand\n"
    plan = WIPES.replace("loiter [5 min]", "hum")
    world = clean(tmp_path, WORDS + hum + plan.format("10 min"))
    ((rule, facts),) = judged(world, analyse(world))
    assert rule == "not-decided" and facts["reason"].startswith("some steps have no duration")


def test_tasks_are_not_spoken_of_by_the_clock(tmp_path: Path) -> None:
    world = clean(
        tmp_path, WORDS + "rule r\n  never heat of fire-a is off longer than 5 min\n" + written(random.Random(1), False)
    )
    world.rules[0].tests = (world.rules[0].tests[0]._replace(op="done"),)
    ((rule, facts),) = judged(world, analyse(world))
    assert rule == "not-decided" and "tasks" in facts["reason"]


def test_plain_rules_are_left_to_the_order(tmp_path: Path) -> None:
    """A rule about the clock is no ``never``: the fire may be off."""
    world = clean(
        tmp_path, WORDS + WIPES.format("60 min") + "rule r\n  never heat of fire-a is off longer than 60 min\n"
    )
    flow = analyse(world)
    assert not [p for p in (*flow.problems, *flow.excursions[0].problems) if p.rule.startswith("rule")]
    assert judged(world, flow) == []
    assert thing(world, "yard").sees == (thing(world, "barn"),)
