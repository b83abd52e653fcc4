"""The way home again, slowly: small plans made up at random, and what somebody needs at one moment of one of them.

Nothing here comes from the compiler but the plan's steps and their nominal times. The oracle keeps its own account
of who is where, on which cord, in which chair and with what in their arms; walks the paths one by one (Dijkstra over
places and cord ends); and lets people queue at the way in one after the other. It knows the words of `WORDS` and no
others."""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from heapq import heappop, heappush
from itertools import pairwise
from typing import Any

WORDS = """use units

kind walker is actor
  has pace: m/s
  holds any cord by hook
  holds 1 crate by arms
kind cord is item
  has user: walker
  ends 2
kind crate is item
kind chair is item
  holds 1 walker by belt
kind spot is location
  holds any cord by hook
  holds any crate by rack
  holds any chair by bolts
kind hut is spot
  inside, one by one in 150 s
kind shed is spot
  inside, one by one in 60 s

action go to PLACE: spot
  by     walker
  serves actor at PLACE along paths
  needs  actor not in a chair, nothing of crate in arms of actor
  makes  actor at PLACE
  takes  route / pace of actor
action change OLD: cord to NEW: cord
  by     walker
  serves NEW to actor
  needs  OLD to actor, user of NEW is actor, NEW in reach
  makes  NEW to actor, then OLD to here
  takes  110 s
  cannot stop
action sit in CHAIR: chair
  by     walker
  serves actor in CHAIR
  needs  CHAIR in reach, nobody in CHAIR
  makes  actor in CHAIR
  takes  50 s
action stand up from CHAIR: chair
  by     walker
  serves actor not in CHAIR
  needs  actor in CHAIR
  makes  actor not in CHAIR
  takes  35 s
action take up CRATE: crate
  by     walker
  needs  CRATE in reach
  makes  CRATE in arms of actor, then CRATE not on here
  takes  80 s
action put down CRATE: crate on PLACE: spot
  by     walker
  needs  CRATE in arms of actor, PLACE in reach
  makes  CRATE in rack of PLACE, then CRATE not in arms of actor
  takes  95 s
action work
  by     walker
action look
  by     walker
  can stop after 70 s
action hold on
  by     walker
  cannot stop
"""

CHANGE, OUT, DOWN, STOP = Fraction(110), Fraction(35), Fraction(95), Fraction(70)
ENTRY = {"hut": Fraction(150), "shed": Fraction(60)}
PLACES = ("hut", "gate", "ash", "bay", "cot", "dip", "shed")


@dataclass
class Made:
    """A plan's text, and what the oracle needs to know of its site. paths: (place, place, metres, cord's place or
    None)."""

    text: str
    paths: list[tuple[str, str, Fraction, str | None]]
    pace: dict[str, Fraction]
    crates: dict[str, str]
    limit: Fraction


def make(seed: int) -> Made:
    """Two or three walkers go out, work here and there, wait for each other now and then, and come home."""
    rng = random.Random(seed)

    def metres() -> Fraction:
        return Fraction(rng.randint(8, 90) * 10 + rng.randint(1, 9), 10)

    paths: list[tuple[str, str, Fraction, str | None]] = [
        ("hut", "gate", metres(), "hut"),
        ("gate", "ash", metres(), "gate"),
        ("ash", "bay", metres(), "gate"),
        ("bay", "cot", metres(), "bay"),
        ("cot", "dip", metres(), "bay"),
    ]
    if rng.random() < 0.6:
        paths.append((rng.choice(("ash", "cot", "dip")), "shed", metres() * 2, None))
    if rng.random() < 0.4:
        paths.append(("gate", "bay", metres() * rng.choice((1, 2)), "gate"))
    who = ["ida", "per", "lea"][: rng.choice((2, 2, 3))]
    pace = {one: Fraction(rng.choice((4, 5, 6, 8)), 10) for one in who}
    lines = [WORDS, "location hut : hut", "location gate, ash, bay, cot, dip : spot", "location shed : shed"]
    for a, b, length, cord in paths:
        lines.append(f"path {a} to {b} {float(length)} m" + (f", on a cord of {cord}" if cord else ""))
    for one in who:
        lines += [
            f"actor {one} : walker, pace {float(pace[one])} m/s, at hut",
            f"item hut-{one} : cord, user {one}, from hut to {one}",
            f"item gate-{one} : cord, user {one}, from gate to gate",
            f"item bay-{one} : cord, user {one}, from bay to bay",
        ]
        lines += [f"item chair-{place}-{one} : chair, on bolts of {place}" for place in ("ash", "dip")]
    crates = {f"crate-{place}-{one}": place for place in ("ash", "cot") for one in who}
    lines += [f"item {name} : crate, on rack of {place}" for name, place in crates.items()]
    limit = 60 * rng.randint(30, 90)
    lines += [
        "excursion walk",
        f"  crew {', '.join(who)}",
        f"  clock from the hut, limit {limit} s",
        "  task walk-out : required",
    ]
    said: list[tuple[str, str]] = []
    for visit in range(rng.randint(2, 4)):
        for one in who:
            place = rng.choice(("gate", "ash", "bay", "cot", "dip"))
            head = f"    {one} at {place}"
            if place in ("ash", "dip") and rng.random() < 0.5:
                head += f" in chair-{place}-{one}"
            others = [mark for mark, speaker in said if speaker != one]
            if others and rng.random() < 0.5:
                head += f", on {rng.choice(others[-3:])}"
            lines.append(head)
            for _ in range(rng.randint(1, 2)):
                lines.append(f"      {rng.choice(('work', 'look', 'look', 'hold on'))} [{rng.randint(20, 400)} s]")
            crate = f"crate-{place}-{one}"
            if crate in crates and rng.random() < 0.5 and not head.startswith(f"    {one} at {place} in"):
                lines.append(f"      take up {crate}")
                if rng.random() < 0.6:
                    lines.append(f"      {rng.choice(('work', 'look'))} [{rng.randint(20, 300)} s]")
                lines.append(f"      put down {crate} on {place}")
            mark = f"{one}-{visit}"
            lines[-1] += f", says {mark}"
            said.append((mark, one))
    lines += [f"    {one} at hut" for one in who]
    text = "\n".join(lines) + "\n"
    return Made(text, paths, pace, crates, Fraction(limit))


@dataclass
class Person:
    place: str
    cord: str  # the place that the cord they are on comes from
    ends: dict[str, str | None]  # cord -> where its loose end is; None: on the person
    seat: str | None = None
    crate: str | None = None

    def copy(self) -> Person:
        return Person(self.place, self.cord, dict(self.ends), self.seat, self.crate)


@dataclass
class Slow:
    """The oracle. steps: (start, end, who, words of the action, argument names, route)."""

    made: Made
    steps: list[tuple[Fraction, Fraction, str, str, list[str], list[str]]]
    order: list[str]
    near: dict[str, list[tuple[str, Fraction, str | None]]] = field(default_factory=dict)
    known: dict[Any, dict[str, Fraction]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for a, b, length, cord in self.made.paths:
            self.near.setdefault(a, []).append((b, length, cord))
            self.near.setdefault(b, []).append((a, length, cord))

    # --- where everybody is -------------------------------------------------------------------------------------------

    def person(self, who: str, t: Fraction) -> Person:
        """As left by the steps that are over by t."""
        one = Person("hut", "hut", {"hut": None, "gate": "gate", "bay": "bay"})
        for _, end, actor, words, names, _ in self.steps:
            if actor == who and end <= t:
                self.apply(one, words, names)
        return one

    @staticmethod
    def apply(one: Person, words: str, names: list[str]) -> None:
        if words.startswith("go to"):
            one.place = names[0]
        elif words.startswith("change"):
            old, new = (name.split("-")[0] for name in names)
            one.ends[new], one.ends[old], one.cord = None, one.place, new
        elif words.startswith("sit in"):
            one.seat = names[0]
        elif words.startswith("stand up"):
            one.seat = None
        elif words.startswith("take up"):
            one.crate = names[0]
        elif words.startswith("put down"):
            one.crate = None

    # --- home ---------------------------------------------------------------------------------------------------------

    def home(self, who: str, one: Person) -> dict[str, Fraction]:
        """Seconds to each place inside, with nothing to finish first. Plain Dijkstra, path by path."""
        whole = (who, one.place, one.cord, tuple(one.ends.items()), one.seat, one.crate)
        if whole not in self.known:
            self.known[whole] = self._home(who, one)
        return self.known[whole]

    def _home(self, who: str, one: Person) -> dict[str, Fraction]:
        first = (DOWN if one.crate else Fraction(0)) + (OUT if one.seat else Fraction(0))
        key = (one.place, one.cord, tuple(sorted(one.ends.items(), key=lambda item: item[0])))
        heap: list[tuple[Fraction, int, Any]] = [(first, 0, key)]
        done: set[Any] = set()
        found: dict[str, Fraction] = {}
        count = 0
        while heap:
            cost, _, state = heappop(heap)
            if state in done:
                continue
            done.add(state)
            place, cord, ends = state
            if place in ENTRY:
                found.setdefault(place, cost)
                continue
            steps: list[tuple[Fraction, Any]] = []
            for other, length, asked in self.near.get(place, ()):
                if asked is None or asked == cord:
                    steps.append((length / self.made.pace[who], (other, cord, ends)))
            for new, end in ends:
                if end is not None and place in (new, end):
                    after = {**dict(ends), new: None, cord: place}
                    steps.append((CHANGE, (place, new, tuple(sorted(after.items(), key=lambda item: item[0])))))
            for more, following in steps:
                count += 1
                heappush(heap, (cost + more, count, following))
        return found

    def choices(self, who: str, t: Fraction) -> Iterator[tuple[Fraction, str]]:
        """(seconds until at a way in, which) for whatever the person can do at t, t being no boundary."""
        one = self.person(who, t)
        running = next((s for s in self.steps if s[2] == who and s[0] < t < s[1]), None)

        def leave(person: Person, after: Fraction) -> Iterator[tuple[Fraction, str]]:
            for place, seconds in self.home(who, person).items():
                yield after + seconds, place

        if running is None:
            yield from leave(one, Fraction(0))
            return
        start, end, _, words, names, route = running
        over = one.copy()
        self.apply(over, words, names)
        yield from leave(over, end - t)
        if words == "look" and t < end - STOP:
            yield from leave(one, STOP)
        if words.startswith("go to"):
            pace = self.made.pace[who]
            walked = (t - start) * pace
            for place, following in pairwise(route):
                length = min(length for other, length, _ in self.near[place] if other == following)
                if walked < length:
                    for where, metres in ((place, walked), (following, length - walked)):
                        there = one.copy()
                        there.place = where
                        yield from leave(there, metres / pace)
                    break
                walked -= length

    def out(self, who: str, t: Fraction) -> bool:
        """On the way out counts as out."""
        if self.person(who, t).place not in ENTRY:
            return True
        running = next((s for s in self.steps if s[2] == who and s[0] < t < s[1]), None)
        return running is not None and running[3].startswith("go to") and any(p not in ENTRY for p in running[5])

    def needs(self, t: Fraction) -> dict[str, Fraction]:
        """Seconds until inside for everyone who is out at t: arrivals in order, one by one through each way in."""
        arriving = []
        for number, who in enumerate(self.order):
            if self.out(who, t):
                _, seconds, place = min((s + ENTRY[p], s, p) for s, p in self.choices(who, t))
                arriving.append((seconds, number, who, place))
        free: dict[str, Fraction] = {}
        found = {}
        for seconds, _, who, place in sorted(arriving):
            inside = max(seconds, free.get(place, seconds)) + ENTRY[place]
            free[place] = found[who] = inside
        return found

    # --- bringing somebody in -----------------------------------------------------------------------------------------

    def reach(self, who: str, one: Person) -> dict[str, list[tuple[Fraction, Person]]]:
        """Every state in which a person can stand at each place, with the seconds until then."""
        first = (DOWN if one.crate else Fraction(0)) + (OUT if one.seat else Fraction(0))
        heap: list[tuple[Fraction, int, Person]] = [(first, 0, Person(one.place, one.cord, dict(one.ends)))]
        done: set[Any] = set()
        found: dict[str, list[tuple[Fraction, Person]]] = {}
        count = 0
        while heap:
            cost, _, at = heappop(heap)
            key = (at.place, at.cord, tuple(at.ends.items()))
            if key in done:
                continue
            done.add(key)
            found.setdefault(at.place, []).append((cost, at))
            steps: list[tuple[Fraction, Person]] = []
            for other, length, asked in self.near.get(at.place, ()):
                if asked is None or asked == at.cord:
                    steps.append((length / self.made.pace[who], Person(other, at.cord, dict(at.ends))))
            for new, end in at.ends.items():
                if end is not None and at.place in (new, end):
                    ends = {
                        cord: None if cord == new else at.place if cord == at.cord else e for cord, e in at.ends.items()
                    }
                    steps.append((CHANGE, Person(at.place, new, ends)))
            for more, following in steps:
                count += 1
                heappush(heap, (cost + more, count, following))
        return found

    def slow_home(self, one: Person, pace: Fraction) -> Fraction:
        """Seconds home at a pace, both entries included."""
        usual = self.made.pace
        self.made.pace = dict.fromkeys(usual, pace)
        try:
            ways = self._home(self.order[0], one)
        finally:
            self.made.pace = usual
        return min(seconds + 2 * ENTRY[place] for place, seconds in ways.items())

    def starts(self, who: str, t: Fraction) -> Iterator[tuple[Fraction, Person]]:
        """What a rescuer can begin with: a state, and the seconds until it."""
        one = self.person(who, t)
        running = next((s for s in self.steps if s[2] == who and s[0] < t < s[1]), None)
        if running is None:
            yield Fraction(0), one
            return
        _, end, _, words, names, _ = running
        over = one.copy()
        self.apply(over, words, names)
        yield end - t, over
        if words == "look" and t < end - STOP:
            yield STOP, one
        spot = self.spot(who, t)
        if spot is not None:
            place, following, walked, length = spot
            for where, metres in ((place, walked), (following, length - walked)):
                there = one.copy()
                there.place = where
                yield metres / self.made.pace[who], there

    def spot(self, who: str, t: Fraction) -> tuple[str, str, Fraction, Fraction] | None:
        """On a move: the places behind and ahead, metres from the one behind, and metres between them."""
        running = next((s for s in self.steps if s[2] == who and s[0] < t < s[1]), None)
        if running is None or not running[3].startswith("go to"):
            return None
        walked = (t - running[0]) * self.made.pace[who]
        for place, following in pairwise(running[5]):
            length = min(length for other, length, _ in self.near[place] if other == following)
            if walked < length:
                return place, following, walked, length
            walked -= length
        return None

    def fetched(self, partner: str, t: Fraction, pace: Fraction) -> Fraction:
        """The least seconds until somebody has brought the partner in."""
        best: list[Fraction] = []
        spot = self.spot(partner, t)
        for other in self.order:
            if other == partner:
                continue
            if spot is None:
                place = self.person(partner, t).place
                for after, one in self.starts(other, t):
                    for cost, there in self.reach(other, one).get(place, ()):
                        best.append(after + cost + self.slow_home(there, pace))
                continue
            u, v, x, length = spot
            asked = next(cord for to, long, cord in self.near[u] if (to, long) == (v, length))
            for after, one in self.starts(other, t):
                for end, metres in ((u, x), (v, length - x)):
                    for cost, there in self.reach(other, one).get(end, ()):
                        if asked is None or there.cord == asked:
                            met = after + cost + metres / self.made.pace[other]
                            best += [met + home for home in self.both_ways(there, u, v, x, length, pace)]
            own = self.spot(other, t)
            if own is not None and {own[0], own[1]} == {u, v}:
                along = own[2] if own[0] == u else own[3] - own[2]
                met = abs(along - x) / self.made.pace[other]
                best += [met + home for home in self.both_ways(self.person(other, t), u, v, x, length, pace)]
        return min(best)

    def both_ways(
        self, one: Person, u: str, v: str, x: Fraction, length: Fraction, pace: Fraction
    ) -> Iterator[Fraction]:
        for end, metres in ((u, x), (v, length - x)):
            there = Person(end, one.cord, dict(one.ends))
            yield metres / pace + self.slow_home(there, pace)
