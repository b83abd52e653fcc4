"""Below a lane of a crew timeline: what its actor has left of each supply, and of the time for the way home."""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from jackstay.model.records import Thing
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.crewline_axis import Axis
from jackstay.outputs.crewline_key import Strip
from jackstay.outputs.crewline_lane import Frame, LaneSketch
from jackstay.outputs.home_account import home_account
from jackstay.outputs.lettering import text_width
from jackstay.outputs.look import SMALL
from jackstay.outputs.supplies import amount
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import View
from jackstay.timing.home import Tally
from jackstay.timing.records import Times
from jackstay.timing.supplies import Course, supplies_of

SUPPLY_ROW = 10.5
HOME = 27.0
LESS = 2.6  # of a row: what is below the reserve


@dataclass(slots=True)
class HomeLine:
    """rows: (since, until, need at both, least left at both); None left: there is nothing to compare with. lacking:
    stretches without a way home that is known."""

    tally: Tally
    rows: list[tuple[float, float, float, float, float | None, float | None]] = field(default_factory=list)
    lacking: list[tuple[float, float]] = field(default_factory=list)

    @property
    def most(self) -> float:
        """Seconds, for the scale."""
        lefts = [x for row in self.rows for x in row[4:6] if x is not None]
        return max([*lefts, *(x for row in self.rows for x in row[2:4])], default=1.0) or 1.0


@dataclass(slots=True)
class Stocks:
    """What the actors have left, all through an excursion."""

    courses: dict[Thing, list[Course]]
    homes: dict[Thing, HomeLine]
    _lines: dict[int, list[tuple[float, float]]] = field(default_factory=dict)

    def line(self, axis: Axis, course: Course) -> list[tuple[float, float]]:
        """(position, share of what is above the reserve) at each bend; worked out once, for the axis that is drawn."""
        if id(course) not in self._lines:
            self._lines[id(course)] = _course_line(axis, course)
        return self._lines[id(course)]

    def height(self, actor: Thing) -> float:
        count = len(self.courses.get(actor, ()))
        return (count * SUPPLY_ROW + 5 if count else 0.0) + (HOME if actor in self.homes else 0.0)


def stocks_of(view: View, times: Times) -> Stocks:
    courses: dict[Thing, list[Course]] = {}
    for course in supplies_of(view.world, view.flow, times).courses:
        courses.setdefault(course.actor, []).append(course)
    account, rows = home_account(view, times)
    homes = {actor: HomeLine(tally) for actor, tally in account.tallies.items() if tally.first_out is not None}
    for row in rows:
        stretch = row.stretch
        for at in stretch.out:
            lefts = row.lefts[at.actor]
            first = min((float(one.since) for one in lefts), default=None)
            last = min((float(one.until) for one in lefts), default=None)
            needs = (float(at.since), float(at.until))
            homes[at.actor].rows.append((float(stretch.since), float(stretch.until), *needs, first, last))
        for stuck in stretch.stuck:
            homes[stuck.actor].lacking.append((float(stretch.since), float(stretch.until)))
    return Stocks(courses, homes)


def draw_stocks(svg: Svg, frame: Frame, axis: Axis, stocks: Stocks, lane: LaneSketch, gutter: float, y: float) -> float:
    actor = lane.lane.actor
    courses = stocks.courses.get(actor, [])
    if courses:
        y = _supplies(svg, frame, axis, stocks, courses, gutter, y)
    home = stocks.homes.get(actor)
    if home is not None:
        _HomeStrip(frame, axis, home, y).draw(svg, gutter, lane.crossings.below)
        y += HOME
    return y


def _supplies(
    svg: Svg, frame: Frame, axis: Axis, stocks: Stocks, courses: list[Course], gutter: float, y: float
) -> float:
    """A row for each supply: from full, at its top, down to the reserve, which is the line below it."""
    actor = courses[0].actor
    with svg.group("supplies", f"{actor.title}: what is left of each supply", data={"data-actor": actor.name}):
        left, right = frame.clip(frame.start, axis.right(courses[0].end))
        for number, course in enumerate(courses):
            top, low = y + number * SUPPLY_ROW, y + (number + 1) * SUPPLY_ROW - LESS
            svg.text(gutter, low + 0.6, _supply_words(course), SMALL, "f-soft", width=frame.left - gutter - 6)
            if right <= left:
                continue
            points = _course_points(frame, stocks.line(axis, course), top, low)
            if len(points) > 1:
                area = [(points[0][0], low), *points, (points[-1][0], low)]
                svg.path(way(area, True), "f-dusk s-soft", 0.3)
                svg.path(way(points), "n s-ink", 1.1)
            svg.rect(left, low, right - left, LESS - 0.8, "", fill=svg.hatch())
            svg.line(left, low, right, low, "s-loud", 0.7)
    return y + len(courses) * SUPPLY_ROW + 5


def _supply_words(course: Course) -> str:
    if course.unknown is not None:
        return f"{course.supply.name}: not known"
    left = course.left_at_end
    reserve = course.supply.reserve.value if course.supply.reserve is not None else 0
    loud = " EMPTY" if left < 0 else " RESERVE" if left < reserve else ""
    return f"{course.supply.name}{loud}, ends {amount(course.supply.amount, max(left, left * 0))}"


def _course_line(axis: Axis, course: Course) -> list[tuple[float, float]]:
    if course.unknown is not None or not course.draws:
        return []
    kept = float(course.supply.reserve.value) if course.supply.reserve is not None else 0.0
    span = (float(course.supply.amount.value) - kept) or 1.0
    found: list[tuple[float, float]] = []
    for draw in course.draws:
        start = axis.right(draw.since)
        found.append((start, (float(draw.before) - kept) / span))
        after = float(draw.before) - float(draw.rate) * float(draw.until - draw.since)
        found.append((max(axis.left(draw.until), start), (after - kept) / span))
    return found


def _course_points(frame: Frame, line: list[tuple[float, float]], top: float, low: float) -> list[tuple[float, float]]:
    """What is in the window, on the sheet."""
    first = max(bisect_right(line, (frame.start, math.inf)) - 1, 0)
    last = bisect_right(line, (frame.start + frame.right - frame.left, math.inf)) + 1
    points = [
        (frame.x(position), min(max(low - (low - top) * share, top), low + LESS - 0.8))
        for position, share in line[first:last]
    ]
    return _clipped(points, frame.left, frame.right)


def _clipped(points: list[tuple[float, float]], left: float, right: float) -> list[tuple[float, float]]:
    """The part of a line that runs from left to right between two uprights."""
    found: list[tuple[float, float]] = []
    for (ax, ay), (bx, by) in pairwise(points):
        if bx < left or ax > right or bx <= ax:
            continue
        for x in (max(ax, left), min(bx, right)):
            spot = (x, ay + (by - ay) * (x - ax) / (bx - ax))
            if not found or abs(found[-1][0] - spot[0]) > 0.2 or abs(found[-1][1] - spot[1]) > 0.2:
                found.append(spot)
    return found


class _HomeStrip:
    """What the way home takes, dark from below, under what is left for it; between them the margin."""

    def __init__(self, frame: Frame, axis: Axis, home: HomeLine, y: float) -> None:
        self.frame, self.axis, self.home, self.y = frame, axis, home, y
        self.low, self.top = y + HOME - 4, y + 9
        self.scale = (self.low - self.top) / home.most

    def x(self, seconds: float) -> float:
        whole = int(seconds)
        return self.frame.x(self.axis.right(Fraction(whole)) + (seconds - whole) * self.axis.scale)

    def _part(self, since: float, first: float, until: float, last: float) -> list[tuple[float, float]]:
        """What is in the window of a straight line over time, seconds against seconds."""
        ends = [(self.x(at), self.low - max(value, 0) * self.scale) for at, value in ((since, first), (until, last))]
        return _clipped(ends, self.frame.left, self.frame.right)

    def draw(self, svg: Svg, gutter: float, crossings: list[float]) -> None:
        frame, home, y, low = self.frame, self.home, self.y, self.low
        actor = home.tally.actor
        with svg.group("way-home", f"{actor.title}: the way home", data={"data-actor": actor.name}):
            svg.text(gutter, y + 15, "way home: needed", SMALL, "f-soft")
            svg.text(gutter, y + 23, "below what is left", SMALL, "f-soft")
            lines: list[list[tuple[float, float]]] = []
            starts = [row[0] for row in home.rows]
            first_row = max(bisect_right(starts, float(self.axis.when(frame.start)) - 2) - 1, 0)
            last_row = bisect_right(starts, float(self.axis.when(frame.start + frame.right - frame.left)) + 2)
            for since, until, need, later, left, last in home.rows[first_row:last_row]:
                part = self._part(since, need, until, later)
                if len(part) > 1:
                    svg.path(way([(part[0][0], low), *part, (part[-1][0], low)], True), "f-soft s-soft", 0.3)
                part = self._part(since, left, until, last) if left is not None and last is not None else []
                if len(part) < 2:
                    continue
                if lines and math.dist(lines[-1][-1], part[0]) < 0.4:
                    lines[-1].append(part[1])
                else:
                    lines.append(part)
            for line in lines:
                svg.path(way(line), "n s-ink", 1.2)
            for since, until in home.lacking:
                a, b = max(self.x(since), frame.left), min(self.x(until), frame.right)
                if b > a:
                    svg.rect(a, self.top, b - a, low - self.top, "s-loud", stroke_width=0.8, fill=svg.hatch())
            left_edge, right_edge = frame.clip(frame.start, self.axis.right(frame.times.makespan))
            if right_edge > left_edge:
                svg.line(left_edge, low, right_edge, low, "s-ink", 0.8)
            self._tightest(svg, crossings)

    def _tightest(self, svg: Svg, crossings: list[float]) -> None:
        frame, moment = self.frame, self.home.tally.tightest
        at = self.x(float(moment.t)) if moment is not None else frame.left - 1
        words = home_words(self.home)
        if moment is not None and frame.left <= at <= frame.right:
            high = self.low - max(float(moment.left), 0) * self.scale
            svg.line(at, high, at, self.low - float(moment.need) * self.scale, "s-ink", 0.8, "2 1.5")
            svg.circle(at, high, 2, "f-paper s-ink", 1)
        else:
            at = frame.left
        strip = Strip()
        for x in crossings:
            strip.take(x - 3.5, x + 3.5)
        wide = text_width(words, SMALL)
        spots = [at + 3, at - 3 - wide, *(hole[0] for hole in strip.holes(frame.left + 1, frame.right))]
        fits = (x for x in spots if frame.left <= x and x + wide <= frame.right and strip.free(x, x + wide))
        spot = next(fits, None)
        if spot is None:
            left, right = strip.widest(frame.left, frame.right) or (frame.left, frame.right)
            svg.text(left + 1, self.y + 7, words, SMALL, "f-ink", width=right - left - 2)
        else:
            svg.text(spot, self.y + 7, words, SMALL, "f-ink")


def home_words(home: HomeLine) -> str:
    tally = home.tally
    if tally.stuck is not None:
        return f"NO WAY HOME from {clock(Fraction(tally.stuck[0]))} to {clock(Fraction(tally.stuck[1]))}"
    moment = tally.tightest
    if moment is None:
        return f"way home at most {minutes(Fraction(tally.longest))}" if tally.longest else "way home not known"
    by = "" if moment.by is None else f" of {moment.by.name}"
    margin = minutes(abs(Fraction(moment.margin))) + (" TOO LITTLE" if moment.margin < 0 else " to spare")
    need, left = minutes(Fraction(moment.need)), minutes(max(Fraction(moment.left), Fraction(0)))
    return f"tightest at {clock(Fraction(moment.t))}: {need} needed, {left}{by} left, {margin}"
