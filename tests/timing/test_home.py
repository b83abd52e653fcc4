"""The way home: every stretch of it against a slow oracle, a case by hand, and each thing that bends it."""

from __future__ import annotations

import random
from fractions import Fraction
from pathlib import Path

import pytest
from timing.home_oracle import WORDS, Made, Slow, make

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Thing, World
from jackstay.pipeline import check
from jackstay.timing.home import Row, WayHome, needs_home, way_home
from jackstay.timing.home_moments import Sweep
from jackstay.timing.home_records import At, Stretch
from jackstay.timing.home_rescue import Rescues
from jackstay.timing.records import Times
from jackstay.timing.schedule import schedule

PLANS = 200
MINUTE = 60


def followed(folder: Path, text: str, name: str = "") -> tuple[World, ExcursionFlow, Times, list[str]]:
    (folder / "plan.stay").write_text(text, encoding="utf-8")
    checked = check(folder / "plan.stay")
    assert checked.flow is not None, [(d.rule, d.message) for d in checked.diagnostics]
    flow = next(one for one in checked.flow.excursions if name in ("", one.excursion.name))
    times = schedule(flow)
    assert times is not None
    return checked.world, flow, times, [d.rule for d in checked.diagnostics]


def account(
    folder: Path, text: str, name: str = ""
) -> tuple[WayHome, list[Row], ExcursionFlow, Times, World, list[str]]:
    world, flow, times, rules = followed(folder, text, name)
    rows: list[Row] = []
    return way_home(world, flow, times, rows.append), rows, flow, times, world, rules


def at_of(stretch: Stretch, who: str) -> At:
    return next(at for at in stretch.out if at.actor.name == who)


def actor(found: WayHome, name: str) -> Thing:
    return next(one for one in found.tallies if one.name == name)


def need(rows: list[Row], who: str, t: Fraction | int, late: bool = False) -> Fraction:
    """Needed just after a moment, or just before it, in seconds."""
    for row in rows:
        stretch = row.stretch
        if (stretch.since < t <= stretch.until) if late else (stretch.since <= t < stretch.until):
            at = at_of(stretch, who)
            share = Fraction(t - stretch.since) / (stretch.until - stretch.since)
            return at.since + share * (at.until - at.since)
    raise AssertionError(f"{who} is not out at {t}")


def oracle(made: Made, flow: ExcursionFlow, times: Times) -> Slow:
    steps = [
        (
            times.start[step.index],
            times.end[step.index],
            step.cast[0].name,
            step.action.text,
            [one.name for one in step.binding[2:] if isinstance(one, Thing)],
            [place.name for place in step.route],
        )
        for step in flow.steps
        if step.action is not None
    ]
    return Slow(made, steps, [one.name for one in flow.columns])


# --- against the oracle ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("block", range(10))
def test_every_stretch_is_what_the_slow_oracle_says(block: int, tmp_path: Path) -> None:
    """Just inside both ends of every stretch, and at moments between: exactly. And the least margin is the least of
    all the oracle's, seen from both sides of every boundary."""
    too_late = 0
    for seed in range(block * PLANS // 10, (block + 1) * PLANS // 10):
        made = make(seed)
        tight = int(followed(tmp_path, made.text)[2].makespan) + 1 + seed * 37 % 400  # it ends in time, just
        made.text = made.text.replace(f"limit {made.limit} s", f"limit {tight} s")
        made.limit = Fraction(tight)
        found, rows, flow, times, _, rules = account(tmp_path, made.text)
        assert not {"past-limit", "no-way-home", "way-home-not-known"} & set(rules), (seed, rules)
        slow = oracle(made, flow, times)
        rng = random.Random(seed)
        tiny = Fraction(1, 9973)
        least: dict[str, Fraction] = {}
        for row in rows:
            since, until = row.stretch.since, row.stretch.until
            inner = min(tiny, Fraction(until - since) / 3)
            between = since + Fraction(rng.randint(1, 999), 1000) * (until - since)
            for t in (since + inner, between, until - inner):
                share = Fraction(t - since) / (until - since)
                ours = {at.actor.name: at.since + share * (at.until - at.since) for at in row.stretch.out}
                assert ours == slow.needs(Fraction(t)), (seed, t)
            for at in row.stretch.out:
                margins = (made.limit - since - at.since, made.limit - until - at.until)
                name = at.actor.name
                least[name] = min(*margins, least.get(name, margins[0]))
        for tally in found.tallies.values():
            assert tally.tightest is not None
            assert tally.tightest.margin == least[tally.actor.name], seed
            assert (tally.short is not None) == (least[tally.actor.name] < 0)
        late = sum(tally.short is not None for tally in found.tallies.values())
        assert rules.count("way-home-too-long") == late, (seed, rules)
        too_late += late
    assert too_late > 0


def test_no_gap_between_stretches_while_somebody_is_out(tmp_path: Path) -> None:
    for seed in range(20):
        made = make(seed)
        found, rows, *_ = account(tmp_path, made.text)
        for tally in found.tallies.values():
            own = [row.stretch for row in rows if any(at.actor is tally.actor for at in row.stretch.out)]
            assert own[0].since == tally.first_out
            assert own[-1].until == tally.last_out
            assert all(one.since < one.until for one in own)


def test_needs_at_step_ends_are_the_longer_side(tmp_path: Path) -> None:
    for seed in range(12):
        made = make(seed)
        _, rows, flow, times, world, _ = account(tmp_path, made.text)
        needs = needs_home(world, flow, times)
        for one, values in needs.items():
            for end, value in zip(times.end, values, strict=True):
                sides = []
                for late in (False, True):
                    try:
                        sides.append(need(rows, one.name, end, late))
                    except (AssertionError, StopIteration):
                        continue
                assert value == (max(sides) if sides else None)


def test_a_coarse_account_is_never_shorter(tmp_path: Path) -> None:
    for seed in range(25):
        made = make(seed)
        world, flow, times, _ = followed(tmp_path, made.text)
        fine, coarse = way_home(world, flow, times), way_home(world, flow, times, coarse=True)
        for one, tally in fine.tallies.items():
            assert coarse.tallies[one].longest >= tally.longest
            assert coarse.tallies[one].tightest.margin <= tally.tightest.margin


# --- by hand ---------------------------------------------------------------------------------------------------------

SITE = (
    WORDS
    + """
location hut : hut
location gate, ash, bay : spot
path hut to gate 30 m, on a cord of hut
path gate to ash 60 m, on a cord of gate
path ash to bay 90 m, on a cord of gate
actor ida, per : walker, pace 0.5 m/s, at hut
item hut-ida : cord, user ida, from hut to ida
item gate-ida : cord, user ida, from gate to gate
item hut-per : cord, user per, from hut to per
item gate-per : cord, user per, from gate to gate
item chair-ash : chair, on bolts of ash
item crate-ash : crate, on rack of ash
"""
)


def plan(*lines: str, crew: str = "ida", limit: str = "60 min") -> str:
    body = "\n".join(f"    {line}" for line in lines)
    head = f"excursion walk\n  crew {crew}\n  clock from the hut, limit {limit}\n  task walk-out : required"
    return f"{SITE}\n{head}\n{body}\n"


def test_one_walk_reckoned_by_hand(tmp_path: Path) -> None:
    """Ida at 0.5 m/s, one by one in 150 s, a change of cord 110 s, out of the chair 35 s, a look breaks off in 70 s.

    Times: to the gate 30 m / 0.5 = 60 s (0 to 60); change of cord 60 to 170; to ash 60 m: 170 to 290; into the chair
    290 to 340; look 400 s: 340 to 740; up 740 to 775; back to the gate 775 to 895; change 895 to 1005; to the hut
    1005 to 1065.

    Needed, with 150 s of entry in each:
    - on the way to the gate: back, t + 150: 150 to 210;
    - changing (it cannot stop): (170 - t) + change back 110 + 60 home + 150: 430 just after 60, 320 just before 170;
    - on the way to ash: back, (t - 170) + 110 + 60 + 150: 320 to 440;
    - sitting down (nothing said): (340 - t) + up 35 + 120 to the gate + 110 + 60 + 150: 525 to 475;
    - looking, until 740 - 70 = 670: break off 70 + 475 = 545; from then on finishing: (740 - t) + 475: 545 to 475.
      Up to there finishing would take longer than 70 s, so there is no jump;
    - standing up: (775 - t) + 440: 475 to 440, and on along the plan down to 150.
    The limit is 60 min = 3600 s. The margin of a look broken off falls as the clock runs: least just before 670,
    3600 - 670 - 545 = 2385, and stays that to the end, where 3600 - 1065 - 150 = 2385 too."""
    found, rows, _, times, _, rules = account(tmp_path, plan("ida at ash in chair-ash", "  look [400 s]", "ida at hut"))
    assert [int(t) for t in times.end] == [60, 170, 290, 340, 740, 775, 895, 1005, 1065]
    by_hand = [
        (0, 60, 150, 210),
        (60, 170, 430, 320),
        (170, 290, 320, 440),
        (290, 340, 525, 475),
        (340, 670, 545, 545),
        (670, 740, 545, 475),
        (740, 775, 475, 440),
        (775, 895, 440, 320),
        (895, 1005, 320, 210),
        (1005, 1065, 210, 150),
    ]
    for since, until, first, last in by_hand:
        assert need(rows, "ida", since) == first
        assert need(rows, "ida", until, late=True) == last
        assert need(rows, "ida", Fraction(since + until, 2)) == Fraction(first + last, 2)
    tally = found.tallies[actor(found, "ida")]
    assert tally.tightest is not None
    assert (tally.tightest.margin, tally.tightest.t, tally.tightest.late) == (2385, 670, True)
    assert tally.longest == 545
    assert tally.turn_back == tally.last_out == 1065
    assert "way-home-too-long" not in rules


def test_the_first_moment_too_late_is_exact(tmp_path: Path) -> None:
    """The same walk against 18 min = 1080 s: 135 s short from 670 on; 1080 - t = 545 at t = 535."""
    found, _, _, _, _, rules = account(
        tmp_path, plan("ida at ash in chair-ash", "  look [400 s]", "ida at hut", limit="18 min")
    )
    tally = found.tallies[actor(found, "ida")]
    assert tally.short == 535
    assert tally.turn_back == 535
    assert tally.tightest is not None
    assert tally.tightest.margin == -135
    assert "way-home-too-long" in rules


def test_two_at_the_way_in_wait_for_each_other(tmp_path: Path) -> None:
    """Both stand at the gate, 60 s from the hut; the first in crew order comes in after 210 s, the other 150 s
    later."""
    _, rows, *_ = account(
        tmp_path,
        plan(
            "ida at gate",
            "  look [600 s]",
            "per at gate",
            "  look [600 s]",
            "ida at hut",
            "per at hut",
            crew="ida, per",
        ),
    )
    assert need(rows, "ida", 300) == 70 + 60 + 150
    assert need(rows, "per", 300) == 70 + 60 + 150 + 150
    waiting = next(at_of(row.stretch, "per") for row in rows if row.stretch.since <= 300 < row.stretch.until)
    assert waiting.ahead is not None
    assert waiting.ahead.name == "ida"


def test_who_overtakes_is_in_first(tmp_path: Path) -> None:
    """Per looks at the gate, always 70 + 60 s from the hut. Ida works there for 500 s (60 to 560) and finishes first:
    (560 - t) + 60. Hers is the longer one until t = 490; from then on Per waits for her. Both sides of 490 are
    limits."""
    _, rows, *_ = account(
        tmp_path,
        plan(
            "ida at gate",
            "  work [500 s]",
            "per at gate",
            "  look [900 s]",
            "ida at hut",
            "per at hut",
            crew="ida, per",
        ),
    )
    assert need(rows, "per", 490, late=True) == 130 + 150
    assert need(rows, "per", 490) == 130 + 150 + 150
    assert need(rows, "ida", 490, late=True) == 130 + 150 + 150
    assert need(rows, "ida", 490) == 130 + 150
    # until her arrival is 150 s behind his, at (560 - t) + 60 = 280, she does not wait at all
    assert need(rows, "ida", 339) == 560 - 339 + 60 + 150
    assert need(rows, "ida", 341) == 130 + 150 + 150


def test_a_move_between_two_ways_home_bends_where_they_are_equal(tmp_path: Path) -> None:
    """Nothing is in the way between two places inside, 100 m apart: the longest need is in the middle, after 50 m."""
    site = WORDS + (
        "location hut : hut\nlocation shed : hut\nlocation mid : spot\npath hut to mid 40 m\npath mid to shed 60 m\n"
        "actor ida : walker, pace 0.5 m/s, at hut\n"
    )
    text = site + plan("ida at shed", limit="1 h").removeprefix(SITE)
    found, rows, *_ = account(tmp_path, text)
    assert need(rows, "ida", 100) == 100 + 150
    assert found.tallies[actor(found, "ida")].longest == 250


def test_a_load_is_put_down_first(tmp_path: Path) -> None:
    """With a crate in the arms nobody walks: 95 s to put it down, 120 + 110 + 60 home, 150 in."""
    _, rows, _, times, _, _ = account(
        tmp_path,
        plan("ida at ash", "  take up crate-ash", "  look [300 s]", "  put down crate-ash on ash", "ida at hut"),
    )
    looking = times.start[4]
    assert need(rows, "ida", looking) == 70 + 95 + 120 + 110 + 60 + 150
    row = next(row for row in rows if row.stretch.since <= looking < row.stretch.until)
    assert [part.sort for part in at_of(row.stretch, "ida").line.way.parts] == ["away", "way", "line", "way"]


def test_a_load_is_not_left_with_somebody_who_goes_home_too(tmp_path: Path) -> None:
    """Handing the crate to Per beside her would take 10 s, but Per has to go home as well: it is put down, in 95 s."""
    text = plan(
        "per at ash, on up",
        "  look [300 s]",
        "per at hut",
        "ida at ash",
        "  take up crate-ash, says up",
        "  look [900 s]",
        "  put down crate-ash on ash",
        "ida at hut",
        crew="ida, per",
    ).replace(
        "action work\n",
        "action give CRATE: crate to TAKER: walker\n  by     walker, with TAKER\n"
        "  needs  CRATE in arms of actor, TAKER in reach\n"
        "  makes  CRATE in arms of TAKER, then CRATE not in arms of actor\n  takes  10 s\naction work\n",
    )
    _, rows, *_ = account(tmp_path, text)
    both = next(row for row in rows if row.stretch.since <= 800 < row.stretch.until)
    away = at_of(both.stretch, "ida").line.way.parts[0]
    assert (away.sort, away.seconds, away.action.text.split()[0]) == ("away", 95, "put")
    assert at_of(both.stretch, "per").line.way.parts[0].sort == "way"


def test_what_a_broken_off_step_leaves_is_where_the_way_begins(tmp_path: Path) -> None:
    """Crossing takes 300 s from the gate (60 s out) to the far side; broken off in 20 s it leaves Ida at the gate:
    20 + 60 + 150. Where nothing can be left behind, it would have to be finished: the far side has no path."""
    text = (
        WORDS
        + "action cross to PLACE: spot\n  by     walker\n  makes  actor at PLACE\n  takes  300 s\n"
        + "  can stop after 20 s, leaves actor at PLACE\n"
        + "location hut : hut\nlocation gate, far : spot\npath hut to gate 30 m\npath gate to far 500 m\n"
        + "actor ida : walker, pace 0.5 m/s, at hut\n"
        + "excursion walk\n  crew ida\n  clock from the hut, limit 3 h\n  task cross-it : required\n"
        + "    ida at gate\n      cross to far\n    ida at hut\n"
    )
    _, rows, *_ = account(tmp_path, text)
    assert need(rows, "ida", 100) == 20 + 1000 + 60 + 150  # left at the far side: 500 m back
    _, rows, *_ = account(tmp_path, text.replace(", leaves actor at PLACE", ""))
    assert need(rows, "ida", 100) == 20 + 60 + 150
    # in the last 20 s it is over before it could be broken off: finished, and back all the way
    assert need(rows, "ida", 340, late=True) == 20 + 60 + 150
    assert need(rows, "ida", 340) == 20 + 1000 + 60 + 150
    _, rows, *_ = account(tmp_path, text.replace("  can stop after 20 s, leaves actor at PLACE\n", ""))
    assert need(rows, "ida", 100) == 260 + 1000 + 60 + 150


def test_what_another_does_meanwhile_counts_from_its_end(tmp_path: Path) -> None:
    """Per, inside, shuts the door from 100 to 160 and opens it from 360 to 420. Ida, at the gate from 60 on, has no
    way home between 160 and 420, and the same one before and after."""
    text = WORDS.replace("kind hut is spot", "kind hut is spot\n  has door: open or shut, normally open").replace(
        "nothing of crate in arms of actor\n  makes  actor at PLACE",
        "nothing of crate in arms of actor, door of hut is open\n  makes  actor at PLACE",
    )
    text += (
        "action shut it\n  by     walker\n  makes  door of hut is shut from afar\n  takes  60 s\n"
        "action open it\n  by     walker\n  makes  door of hut is open from afar\n  takes  60 s\n"
        "location hut : hut\nlocation gate : spot\npath hut to gate 30 m\n"
        "actor ida, per : walker, pace 0.5 m/s, at hut\n"
        "excursion walk\n  crew ida, per\n  clock from the hut, limit 1 h\n  task door : required\n"
        "    ida at gate, says there\n      look [600 s]\n    ida at hut\n"
        "    per, on there\n      work [40 s]\n      shut it\n      work [200 s]\n      open it, says opened\n"
    ).replace("    ida at hut\n", "    ida at hut, on opened\n")
    found, rows, _, _, _, rules = account(tmp_path, text)
    stuck = [row.stretch for row in rows if row.stretch.stuck]
    assert (stuck[0].since, stuck[-1].until) == (160, 420)
    tally = found.tallies[actor(found, "ida")]
    assert tally.stuck is not None
    assert tally.stuck[:2] == (160, 420)
    assert tally.turn_back == 160
    for t in (61, 159, 420, 580):
        assert need(rows, "ida", t) == 70 + 60 + 150
    assert rules.count("no-way-home") == 1


def test_a_move_that_cannot_stop_is_finished(tmp_path: Path) -> None:
    """Halfway to the gate, at 30 s: back would be 30 s, but the walk goes on for 30 s and then back 60 s."""
    text = plan("ida at gate", "  look [100 s]", "ida at hut")
    _, rows, *_ = account(tmp_path, text)
    assert need(rows, "ida", 30) == 30 + 150
    stiff = text.replace("  takes  route / pace of actor", "  takes  route / pace of actor\n  cannot stop")
    _, rows, *_ = account(tmp_path, stiff)
    assert need(rows, "ida", 30) == 30 + 60 + 150


def test_a_line_that_would_not_reach_is_let_go_first(tmp_path: Path) -> None:
    """Ida holds one end of a 70 m hose that hangs on ash; the gate is 60 m away, the hut 90 m: she puts the end down
    first."""
    text = (
        SITE.replace(
            "kind chair is item",
            "kind hose is item\n  has span: m\n  ends 2\n  length span\nkind chair is item",
        )
        .replace("  holds 1 crate by arms", "  holds 1 crate by arms\n  holds 1 hose by glove")
        .replace(
            "  holds any cord by hook\n  holds any crate",
            "  holds any cord by hook\n  holds any hose by clamp\n  holds any crate",
        )
    )
    text += (
        "action grasp HOSE: hose\n  by     walker\n  needs  HOSE in reach\n"
        "  makes  HOSE in glove of actor\n  takes  20 s\n"
        "action drop HOSE: hose\n  by     walker\n  needs  HOSE in glove of actor\n"
        "  makes  HOSE not in glove of actor\n  takes  25 s\n"
        "item water : hose, span 70 m, from ash to ash\n"
        "excursion walk\n  crew ida\n  clock from the hut, limit 3 h\n  task hold-it : required\n"
        "    ida at ash\n      grasp water\n      look [300 s]\n      drop water\n    ida at hut\n"
    )
    _, rows, _, _, _, rules = account(tmp_path, text)
    assert rules == []
    looking = next(row for row in rows if row.stretch.since <= 400 < row.stretch.until)
    way = at_of(looking.stretch, "ida").line.way
    assert [(part.sort, part.seconds) for part in way.parts] == [("away", 25), ("way", 120), ("line", 110), ("way", 60)]


def test_answers_from_memory_are_those_thought_out_anew(tmp_path: Path) -> None:
    """The same questions in the same states, asked of a finder with a memory and of one without."""
    for seed in range(12):
        made = make(seed)
        world, flow, times, _ = followed(tmp_path, made.text)
        remembering, forgetting = Sweep(world, flow, times), Sweep(world, flow, times)
        asked = []
        for one, other in zip(remembering.stretches(), forgetting.stretches(), strict=True):
            forgetting.state.answers.clear()
            forgetting.known.clear()
            asked.append((one.since, one.until, [(at.actor, at.since, at.until, at.ahead) for at in one.out]))
            again = (other.since, other.until, [(at.actor, at.since, at.until, at.ahead) for at in other.out])
            assert asked[-1] == again
        assert asked
        assert remembering.state.asked < forgetting.state.asked
        assert not remembering.state.trail


# --- carriers ---------------------------------------------------------------------------------------------------------

ARM = (
    WORDS
    + """
kind crane is actor
  holds 1 basket by hook
kind basket is item
  holds 1 walker by belt
action swing to PLACE: spot
  by     crane
  serves actor at PLACE
  makes  actor at PLACE
  takes  200 s
action swing to PLACE: spot
  by     crane, helped by walker
  serves actor at PLACE
  needs  helper in a basket
  makes  actor at PLACE
  takes  300 s
action climb into BASKET: basket
  by     walker
  needs  BASKET in reach
  makes  actor in BASKET
  takes  40 s
action climb out of BASKET: basket
  by     walker
  needs  actor in BASKET
  makes  actor not in BASKET
  takes  45 s
location hut : hut
location gate, far : spot
path hut to gate 30 m
{path}
actor ida : walker, pace 0.5 m/s, at hut
actor boom : crane, at gate, reaches gate, far
item cage : basket, on hook of boom
excursion ride
  crew ida, boom
  clock from the hut, limit 2 h
  task walk-out : required
    ida at gate
      climb into cage, says aboard
    boom with ida at far, on aboard
    ida
      look [310 s], says seen
    boom with ida at gate, on seen
    ida
      climb out of cage
    ida at hut
"""
)


def test_a_rider_goes_home_as_if_the_carrier_stood_still(tmp_path: Path) -> None:
    """Where a path leads home from where the carrier stands: out 45 s, 200 m at 0.5 m/s, 60 s to the hut, in."""
    _, rows, _, times, _, rules = account(tmp_path, ARM.replace("{path}", "path far to gate 200 m"))
    looking = next(s for s, e in zip(times.start, times.end, strict=True) if e - s == 310)
    assert need(rows, "ida", looking) == 70 + 45 + 400 + 60 + 150
    row = next(row for row in rows if row.stretch.since <= looking < row.stretch.until)
    assert at_of(row.stretch, "ida").line.way.carrier is None
    assert "no-way-home" not in rules
    # while it swings, it finishes first: just after it has begun, all of the 300 s
    swinging = looking - 300
    assert need(rows, "ida", swinging) == 300 + 45 + 400 + 60 + 150


def test_a_rider_with_no_path_is_brought(tmp_path: Path) -> None:
    """No path from there: the crane brings them to the gate in 300 s; then out, 60 s, in; and the way says by whom."""
    _, rows, _, times, _, rules = account(tmp_path, ARM.replace("{path}", ""))
    looking = next(s for s, e in zip(times.start, times.end, strict=True) if e - s == 310)
    assert need(rows, "ida", looking) == 70 + 300 + 45 + 60 + 150
    row = next(row for row in rows if row.stretch.since <= looking < row.stretch.until)
    way = at_of(row.stretch, "ida").line.way
    assert way.carrier is not None
    assert way.carrier.name == "boom"
    assert [part.sort for part in way.parts] == ["ride", "out", "way"]
    assert "no-way-home" not in rules


# --- what is left ----------------------------------------------------------------------------------------------------


def test_without_a_limit_or_a_supply_nothing_is_said(tmp_path: Path) -> None:
    text = plan("ida at ash in chair-ash", "  look [40000 s]", "ida at hut").replace(", limit 60 min", "")
    found, _, _, _, _, rules = account(tmp_path, text)
    assert "way-home-too-long" not in rules
    assert found.tallies[actor(found, "ida")].tightest is None
    assert found.tallies[actor(found, "ida")].longest == 545


def test_a_supply_is_drawn_by_each_part_of_the_way(tmp_path: Path) -> None:
    """985 units, 1 a second at rest, 2 a second while walking. Standing at the gate at t, having walked 60 s: 985 -
    120 - (t - 60) left. To break off takes 70 s at rest, then 60 s of walking and 150 s of coming in, at rest: 70 + 120
    + 150 = 340. It falls short when 925 - t = 340: t = 585. (All of it at the hardest effort would have been 560.)"""
    text = (
        WORDS.replace(
            "kind walker is actor",
            "effort rest 1 W\neffort hard 2 W\nkind walker is actor\n"
            "  supply air 985 J, drains effort\n  idle effort rest",
        )
        .replace("  takes  route / pace of actor", "  takes  route / pace of actor\n  effort hard")
        .replace("action look\n  by     walker", "action look\n  by     walker\n  effort rest")
        + "location hut : hut\nlocation gate : spot\npath hut to gate 30 m\nactor ida : walker, pace 0.5 m/s, at hut\n"
        "excursion walk\n  crew ida\n  clock from the hut\n  task walk-out : required\n"
        "    ida at gate\n      look [600 s]\n    ida at hut\n"
    )
    found, _, _, _, _, rules = account(tmp_path, text)
    tally = found.tallies[actor(found, "ida")]
    assert tally.short == 585
    assert tally.tightest is not None
    assert tally.tightest.by is not None
    assert tally.tightest.by.name == "air"
    assert "way-home-too-long" in rules


def test_rescue_by_hand(tmp_path: Path) -> None:
    """Ida looks at the bay, 150 m beyond the gate, from 470 to 1670. Per looks at ash, on the way there, from 290 to
    1490, and is back at the gate at 1610, where he changes cords until 1720. Just after 1610 that change is finished
    first: 110 s, and back 110 s, and 150 m to Ida 300 s; home with her 180 m at 0.1 m/s 1800 s, with a change 110 s;
    both in: 300 s."""
    text = plan(
        "per at ash",
        "  look [1200 s]",
        "ida at bay",
        "  look [1200 s]",
        "ida at hut",
        "per at hut",
        crew="ida, per",
        limit="2 h",
    ).replace("  holds 1 crate by arms", "  holds 1 crate by arms\n  brings walker at 0.1 m/s within 20 min")
    found, _, _, _, _, rules = account(tmp_path, text)
    seconds, when, fetch = found.rescues.longest[actor(found, "ida")]
    assert fetch.rescuer.name == "per"
    assert (seconds, when) == (110 + 110 + 300 + 1800 + 110 + 300, 1610)
    assert rules.count("rescue-too-long") == 2
    assert found.rescues.found[actor(found, "ida")].since < when


@pytest.mark.parametrize("block", range(4))
def test_bringing_in_is_what_the_slow_oracle_says(block: int, tmp_path: Path) -> None:
    """Everywhere between the moments at which something changes, also while one or both are on the move."""
    pace = Fraction(1, 10)
    for seed in range(block * 10, block * 10 + 10):
        made = make(seed)
        brings = "  holds 1 crate by arms\n  brings walker at 0.1 m/s within 20 min"
        text = made.text.replace("  holds 1 crate by arms", brings)
        world, flow, times, _ = followed(tmp_path, text)
        slow = oracle(made, flow, times)
        told: list[tuple[Thing, Fraction, Fraction, Fraction, Fraction]] = []
        sweep = Sweep(world, flow, times)
        rescues = Rescues(sweep, lambda *one, told=told: told.append(one))  # type: ignore[arg-type]
        for stretch in sweep.stretches():
            rescues.see(stretch)
        rng = random.Random(seed)
        for partner, since, until, first, last in rng.sample(told, min(60, len(told))):
            share = Fraction(rng.randint(1, 99), 100)
            t = since + share * (until - since)
            assert first + share * (last - first) == slow.fetched(partner.name, t, pace), (seed, partner.name, t)
        for partner, (seconds, _, _) in rescues.longest.items():
            assert seconds == max(max(one[3:]) for one in told if one[0] is partner)


def test_alone_there_is_nobody_to_rescue(tmp_path: Path) -> None:
    text = plan("ida at ash", "  look [100 s]", "ida at hut").replace(
        "  holds 1 crate by arms", "  holds 1 crate by arms\n  brings walker at 0.1 m/s within 20 min"
    )
    found, _, _, _, _, rules = account(tmp_path, text)
    (shortfall,) = found.rescues.shortfalls()
    assert shortfall.fetch is None
    assert "rescue-too-long" in rules
