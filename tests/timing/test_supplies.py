"""What is left of each supply: worked by hand, and against a sum over every second."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from worlds import clean

from jackstay.flow.analyse import analyse
from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Thing, World
from jackstay.timing.schedule import schedule
from jackstay.timing.supplies import Course, Supplies, supplies_of
from jackstay.timing.supply_checks import check_supplies

WORDS = """
use units
effort calm 100 W
effort hard 400 W
kind hut is location
  inside
kind hole is location
  has depth: m
table thick by depth in m gives l/min, round up
  10 : 4
  20 : 8
kind diver is actor
{supplies}
action walk to PLACE: location
  by diver
  serves actor at PLACE along paths
  makes actor at PLACE
  takes 1 min
  effort calm
action dig
  by diver
  takes 10 min
  effort hard
action look
  by diver
  takes 5 min
  effort calm
action mutter
  by diver
  takes 4 min
location shed : hut
location low : hole, depth 10 m
location lower : hole, depth 20 m
path shed to low 5 m
path low to lower 5 m
actor ida, per : diver, at shed
"""
AIR = "  idle effort calm\n  supply air 100 l, reserve 10 l, drains effort * 0.02 l/kJ"  # calm 2 ml/s, hard 8 ml/s


def flown(folder: Path, supplies: str, plan: str) -> tuple[World, ExcursionFlow]:
    world = clean(folder, WORDS.replace("{supplies}", supplies) + plan)
    (flow,) = analyse(world).excursions
    return world, flow


def course_of(folder: Path, supplies: str, plan: str, actor: str = "ida") -> Course:
    world, flow = flown(folder, supplies, plan)
    times = schedule(flow)
    assert times is not None
    return next(one for one in supplies_of(world, flow, times).courses if one.actor.name == actor)


def found(folder: Path, supplies: str, plan: str) -> list[tuple[str, dict[str, Any]]]:
    world, flow = flown(folder, supplies, plan)
    times = schedule(flow)
    assert times is not None
    told: list[tuple[str, dict[str, Any]]] = []
    check_supplies(world, flow, times, lambda rule, at, /, **facts: told.append((rule, facts)))
    return told


def litres(value: Fraction) -> Fraction:
    return value * 1000


DIG = """
excursion one
  crew ida, per
  task work : required
    ida
      dig, says dug
      look
    per, on dug
      dig
"""


def test_steps_and_waits(tmp_path: Path) -> None:
    """Ida digs for 600 s at 8 ml/s, looks for 300 s and waits for 300 s at 2 ml/s: 6 l of 100 l."""
    ida = course_of(tmp_path, AIR, DIG)
    assert [(d.since, d.until, litres(d.rate)) for d in ida.draws] == [
        (0, 600, Fraction(8, 1000)),
        (600, 900, Fraction(2, 1000)),
        (900, 1200, Fraction(2, 1000)),
    ]
    assert litres(ida.left_at_end) == 100 - Fraction(48, 10) - Fraction(12, 10)
    assert litres(ida.amount_at(Fraction(300))) == 100 - Fraction(24, 10)
    assert litres(ida.amount_at(Fraction(5000))) == 94


def test_reserve_and_empty(tmp_path: Path) -> None:
    """10 l at 8 ml/s: 4.8 l gone after the dig, below 4 l at 600 s + 1.2 l / 2 ml/s = 1200 s: at the very end, not
    before it. With a reserve of 5.4 l that comes at 575 s."""
    ida = course_of(tmp_path, AIR.replace("100 l, reserve 10 l", "10 l, reserve 4 l"), DIG)
    assert ida.falls_below(ida.supply.reserve.value) is None  # type: ignore[union-attr]
    assert ida.falls_below(Fraction("0.0054")) == 575
    assert ida.falls_below(Fraction("0.0041")) == 1150
    low = course_of(tmp_path, AIR.replace("100 l, reserve 10 l", "5 l"), DIG)
    assert low.falls_below(Fraction(0)) == 700
    assert litres(low.left_at_end) == -1
    assert low.falls_below(Fraction(1)) == 0


def test_what_would_be_left(tmp_path: Path) -> None:
    """At 300 s Ida has 97.6 l: 48,800 s of calm, 12,200 s of hard work."""
    world, flow = flown(tmp_path, AIR, DIG)
    times = schedule(flow)
    assert times is not None
    supplies: Supplies = supplies_of(world, flow, times)
    ida = flow.steps[0].cast[0]
    calm, hard = world.efforts["calm"], world.efforts["hard"]
    assert supplies.left(ida, Fraction(300), calm) == (48_800, ida.kind.supplies[0])
    assert supplies.left(ida, Fraction(300), hard) == (12_200, ida.kind.supplies[0])
    assert supplies.left(ida, Fraction(300), None) == (12_200, ida.kind.supplies[0])  # nobody says: the heaviest
    assert supplies.left(Thing(99, "x", "X", "actor", ida.kind, ida.decl), Fraction(0), calm) is None


CLOCK = """
excursion one
  crew ida, per
  clock from the bell, starts on begun, ends on done, limit 3 h
  task work : required
    ida at low
      dig, says begun
      dig, says done
    ida at shed
      look
    per
      look
"""


def test_from_the_clock_until_it_stops_and_the_actor_is_inside(tmp_path: Path) -> None:
    """Ida walks for 60 s; the clock starts at 660 s and stops at 1260 s; Ida is inside at 1320 s, Per already then."""
    ida = course_of(tmp_path, AIR, CLOCK)
    assert (ida.zero, ida.end) == (660, 1320)
    assert litres(ida.left_at_end) == 100 - Fraction(48, 10) - Fraction(12, 100)
    assert litres(ida.amount_at(Fraction(0))) == 100
    per = course_of(tmp_path, AIR, CLOCK, "per")
    assert (per.zero, per.end) == (660, 1260)
    assert litres(per.left_at_end) == 100 - Fraction(12, 10)


DEEP = """
excursion one
  crew ida, per
  task work : required
    ida at low
      look
    ida at lower
      look
    ida at low
    ida at shed
    per at low
    per at shed
"""


def test_a_place_and_a_table(tmp_path: Path) -> None:
    """`depth of here`: the shed has none, so that nobody knows what Ida breathes there."""
    deep = "  supply gas 100 l, drains thick(depth of here)"
    ida = course_of(tmp_path, deep, DEEP)
    assert ida.unknown is not None and ida.unknown.since == 0
    with pytest.raises(ValueError, match="how fast"):
        ida.amount_at(Fraction(0))
    told = found(tmp_path, deep, DEEP)
    assert {(r, f["what"]) for r, f in told} == {("not-decided", "supply")}


STAY = """
actor deep-ida : diver, at low
excursion one
  crew deep-ida
  task work : required
    deep-ida
      look
    deep-ida at lower
      look
    deep-ida at low
      look
    deep-ida at shed
"""


def test_what_is_read_counts_until_the_step_that_changes_it_is_over(tmp_path: Path) -> None:
    """6 min at 4 l/min (the way down too), 6 at 8 l/min (the way up too), 6 at 4 l/min (the way home too)."""
    course = course_of(tmp_path, "  supply gas 100 l, drains thick(depth of here)", STAY, "deep-ida")
    assert course.unknown is None
    per_minute = [(d.since, d.until, litres(d.rate) * 60) for d in course.draws]
    assert [one[2] for one in per_minute] == [4, 4, 8, 8, 4, 4]
    assert litres(course.left_at_end) == 100 - 24 - 48 - 24


def test_what_fills_up_stays_full(tmp_path: Path) -> None:
    """Digging draws 8 ml/s less 4; at a look 2 less 4 flow back in: full again would be after 1200 s, there are 300."""
    back = "  idle effort calm\n  supply air 100 l, drains effort * 0.02 l/kJ - 0.004 l/s"
    ida = course_of(tmp_path, back, DIG)
    assert litres(ida.left_at_end) == 100 - Fraction(24, 10) + Fraction(12, 10)
    full = "  idle effort calm\n  supply air 100 l, drains effort * 0.02 l/kJ - 0.009 l/s"
    ida = course_of(tmp_path, full, DIG)
    assert litres(ida.left_at_end) == 100
    assert {draw.before for draw in ida.draws} == {Fraction(1, 10)}
    assert {ida.amount_at(Fraction(n)) for n in range(0, 1300, 50)} == {Fraction(1, 10)}
    # 2.4 l short after the dig; filled up at 12 ml/s, 200 s later
    quick = "  idle effort calm\n  supply air 100 l, drains effort * (0.02 l/kJ + 0.0333333333333333333333333333 l/kJ)"
    ida = course_of(tmp_path, quick + " - 0.0173333333333333333333333333 l/s", DIG)
    assert float(litres(ida.amount_at(Fraction(600)))) == pytest.approx(97.6)
    assert float(litres(ida.amount_at(Fraction(700)))) == pytest.approx(98.8)
    assert float(litres(ida.amount_at(Fraction(850)))) == 100


MUTTER = DIG.replace("look\n", "mutter\n", 1)


def test_findings(tmp_path: Path) -> None:
    assert found(tmp_path, AIR, DIG) == []
    (rule, facts), (other, more) = found(tmp_path, AIR.replace("100 l, reserve 10 l", "10 l, reserve 5 l"), DIG)
    # Ida: below 5 l at 700 s... only after 4.8 l of the dig and 0.2 l of the look; Per waits 10 min, then digs
    assert (rule, facts["actor"].name, facts["at_time"]) == ("supply-below-reserve", "ida", 700)
    assert facts["step"].action.text.startswith("look")
    assert (other, more["actor"].name, more["at_time"]) == ("supply-below-reserve", "per", 600 + 475)
    out = found(tmp_path, AIR.replace("100 l, reserve 10 l", "5 l, reserve 1 l"), DIG)
    assert [(r, f["actor"].name, f["at_time"]) for r, f in out] == [
        ("supply-runs-out", "ida", 700),
        ("supply-runs-out", "per", 600 + 475),
    ]
    assert [(d.step.action.text, litres(d.amount), litres(d.left)) for d in out[0][1]["drawn"]] == [
        ("dig", Fraction(48, 10), Fraction(2, 10)),
        ("look", Fraction(2, 10), 0),
    ]
    assert litres(out[1][1]["waited"]) == Fraction(12, 10)


def test_a_supply_that_is_empty_at_the_very_end_has_lasted(tmp_path: Path) -> None:
    assert [r for r, _ in found(tmp_path, AIR.replace("100 l, reserve 10 l", "6 l"), DIG)] == []
    assert [r for r, _ in found(tmp_path, AIR.replace("100 l, reserve 10 l", "5.99 l"), DIG)] == ["supply-runs-out"] * 2


def test_an_effort_that_nobody_states(tmp_path: Path) -> None:
    """With the heaviest effort known, muttering for 4 min draws 1.92 l instead of something unknown."""
    assert found(tmp_path, AIR, MUTTER) == []
    alone = MUTTER.replace("    per, on dug\n      dig\n", "")
    assert found(tmp_path, AIR.replace("100 l, reserve 10 l", "6.72 l"), alone) == []
    ((rule, facts),) = found(tmp_path, AIR.replace("100 l, reserve 10 l", "6.71 l"), alone)
    assert (rule, facts["what"], [one.name for one in facts["supplies"]]) == ("not-decided", "supply", ["air"])
    assert facts["reason"] == "nobody says what effort it takes: `mutter`"


def test_who_waits_without_an_idle_effort(tmp_path: Path) -> None:
    air = AIR.replace("  idle effort calm\n", "")
    assert found(tmp_path, air, DIG) == []
    told = found(tmp_path, air.replace("100 l, reserve 10 l", "6 l, reserve 1 l"), DIG)
    assert [(r, f["actor"].name, f["reason"]) for r, f in told] == [
        ("not-decided", "ida", "nobody says what effort it takes: waiting"),
        ("not-decided", "per", "nobody says what effort it takes: waiting"),
    ]


LONG = DIG.replace("      look\n", "      look [5 min, 4 to 30]\n")


def test_on_the_longest_day(tmp_path: Path) -> None:
    """30 min of looking draw 3.6 l: 8.4 l for Ida; Per waits 10 min, digs 10, and waits 20: 1.2 + 4.8 + 2.4 = 8.4 l."""
    told = found(tmp_path, AIR.replace("100 l, reserve 10 l", "8.3 l"), LONG)
    assert [(r, f["actor"].name) for r, f in told] == [("supply-may-run-out", "ida"), ("supply-may-run-out", "per")]
    assert told[0][1]["at_time"] == 2400 - 50
    assert found(tmp_path, AIR.replace("100 l, reserve 10 l", "8.4 l"), LONG) == []


def test_without_a_duration_it_is_not_decided(tmp_path: Path) -> None:
    plan = DIG.replace("      look\n", "      hum\n") + "\naction hum\n  by diver\n  effort calm\n"
    told = found(tmp_path, AIR, plan)
    assert {(r, f["reason"]) for r, f in told} == {
        ("not-decided", "some steps have no duration, so that it may be in use for longer")
    }
    # what runs out even so is sure
    assert {r for r, _ in found(tmp_path, AIR.replace("100 l, reserve 10 l", "3 l"), plan)} == {"supply-runs-out"}


@pytest.mark.parametrize("seed", range(25))
def test_against_every_second(tmp_path: Path, seed: int) -> None:
    """Random lists of steps for two; the amount second by second, summed without any of the compiler's spells."""
    pick = random.Random(seed)
    blocks = []
    for n in range(pick.randint(3, 8)):
        who = pick.choice(("ida", "per"))
        wait = f", on m{pick.randrange(n)}" if n and pick.random() < 0.4 else ""
        place = pick.choice(("", " at low", " at lower", " at shed"))
        line = pick.choice(("dig", "look", "mutter")) + f" [{pick.randint(1, 9)} min], says m{n}"
        blocks.append(f"    {who}{place}{wait}\n      {line}\n")
    plan = "\nexcursion one\n  crew ida, per\n  task work : required\n" + "".join(blocks)
    air = "  idle effort calm\n  has skill: count, usually 3\n"
    air += "  supply air 100 l, drains effort * 0.02 l/kJ + skill of actor * 0.001 l/s"
    world = clean(tmp_path, WORDS.replace("{supplies}", air) + plan)
    (flow,) = analyse(world).excursions
    times = schedule(flow)
    assert times is not None
    courses = supplies_of(world, flow, times).courses
    assert courses
    for course in courses:
        left = Fraction(100)
        for second in range(int(times.makespan)):
            watts = Fraction(100)
            for step in flow.steps:
                mine = course.actor in step.cast and times.start[step.index] <= second < times.end[step.index]
                if mine and step.action is not None:
                    # what nobody says is taken as the heaviest
                    watts = step.action.effort.rate.value if step.action.effort is not None else Fraction(400)
            left -= watts * Fraction("0.00002") + Fraction("0.003")
            if second % 97 == 0:
                assert litres(course.amount_at(Fraction(second + 1))) == left
        assert litres(course.left_at_end) == left
