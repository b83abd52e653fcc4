"""Strips beside the lanes of a crew timeline: the tasks above them; below a lane what its actor has left of each
supply, and of the time for the way home."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from fractions import Fraction

from jackstay.model.records import Task, Thing
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.crewline_axis import Axis
from jackstay.outputs.crewline_key import Strip
from jackstay.outputs.crewline_lane import POINT, Frame
from jackstay.outputs.crewline_parts import Parts
from jackstay.outputs.lettering import text_width
from jackstay.outputs.look import SMALL
from jackstay.outputs.order_signs import RANK_DASH
from jackstay.outputs.supplies import amount
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place
from jackstay.timing.home import Row, Tally, way_home
from jackstay.timing.records import Times
from jackstay.timing.supplies import Course, supplies_of

TASK_ROW = 12.5
SUPPLY_ROW = 10.5
HOME = 27.0
LESS = 2.6  # of a row: what is below the reserve


# --- tasks -----------------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class PlacedTask:
    task: Task
    left: float
    right: float
    row: int
    words: str
    words_left: float
    cut_left: bool
    cut_right: bool


class TaskSketch:
    """The tasks in a window, in as few rows as keep their words apart."""

    def __init__(self, frame: Frame, parts: Parts, crossings: list[float]) -> None:
        self.frame = frame
        self.placed: list[PlacedTask] = []
        self.rows: list[Strip] = []
        for task, left, right in parts.tasks:
            if frame.shows(left, right):
                self._place(task, left, right, crossings)

    @property
    def height(self) -> float:
        return len(self.rows) * TASK_ROW + 5

    def _place(self, task: Task, start: float, end: float, crossings: list[float]) -> None:
        frame = self.frame
        left, right = frame.clip(start, end)
        right = max(right, left + 3)
        cut_left, cut_right = frame.x(start) < frame.left - 0.01, frame.x(end) > frame.right + 0.01
        if right - left < 3 * POINT:
            cut_left = cut_right = False
        inner = right - left - 6 - POINT * (cut_left + cut_right)
        for words in task_words(task):
            wide = text_width(words, SMALL)
            if wide <= inner:
                self._put(PlacedTask(task, left, right, 0, words, left + 3 + POINT * cut_left, cut_left, cut_right), right)
                return
        words = task_words(task)[0]
        wide = text_width(words, SMALL) + 4
        beside = PlacedTask(task, left, right, 0, words, right + 3, cut_left, cut_right)
        if right + wide <= frame.right and not any(right < x < right + wide for x in crossings):
            self._put(beside, right + wide)
            return
        when = clock(task_start(frame, task))
        data = {"data-task": task.name, "data-place": source_place(task.decl)}
        told = f"task {words}  {data['data-place']}"
        number = frame.key.number("task", frame.view.excursion.tasks.index(task), when, "", told, data)
        beside.words = str(number)
        wide = text_width(beside.words, SMALL) + 3
        if right + wide > frame.right:
            beside.words_left = left - wide
            self._put(beside, right, left - wide)
        else:
            beside.words_left = right + 2
            self._put(beside, right + wide)

    def _put(self, placed: PlacedTask, right: float, left: float | None = None) -> None:
        start = placed.left if left is None else left
        row = next((n for n, strip in enumerate(self.rows) if strip.free(start, right + 2)), len(self.rows))
        if row == len(self.rows):
            self.rows.append(Strip())
        self.rows[row].take(start, right + 2)
        placed.row = row
        self.placed.append(placed)

    def draw(self, svg: Svg, gutter: float, y: float) -> float:
        svg.text(gutter, y + 8.4, "tasks", SMALL, "f-soft")
        for one in self.placed:
            top = y + one.row * TASK_ROW
            task = one.task
            data = {"data-task": task.name, "data-place": source_place(task.decl)}
            with svg.group("task", f"task {task_words(task)[0]}", data=data):
                low, middle = top + TASK_ROW - 2, top + TASK_ROW / 2 - 1
                left, right = one.left, one.right
                points = [(left, middle), (left + POINT, top)] if one.cut_left else [(left, top)]
                points += [(right - POINT, top), (right, middle), (right - POINT, low)] if one.cut_right else []
                points += [] if one.cut_right else [(right, top), (right, low)]
                points += [(left + POINT, low)] if one.cut_left else [(left, low)]
                dash = RANK_DASH.get(task.rank, "")
                svg.path(way(points, True), "f-tag s-ink", 1.3 if dash else 0.9, dash)
                svg.text(one.words_left, top + 8, one.words, SMALL, "f-ink", one.words.isdigit())
        return y + self.height


def task_words(task: Task) -> list[str]:
    """With its rank where it is not required; then shorter."""
    rank = "" if task.rank == "required" else f" ({task.rank})"
    rank = f" ({task.rank}, only if)" if task.guard is not None else rank
    return [f"{task.title}{rank}", task.title]


def task_start(frame: Frame, task: Task) -> Fraction:
    return min(frame.times.start[step.index] for step in frame.view.flow.steps if step.entry.task is task)


# --- supplies and the way home ---------------------------------------------------------------------------------------


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

    def height(self, actor: Thing) -> float:
        count = len(self.courses.get(actor, ()))
        return (count * SUPPLY_ROW + 5 if count else 0.0) + (HOME if actor in self.homes else 0.0)


def stocks_of(view: View, times: Times) -> Stocks:
    courses: dict[Thing, list[Course]] = {}
    for course in supplies_of(view.world, view.flow, times).courses:
        courses.setdefault(course.actor, []).append(course)
    rows: list[Row] = []
    account = way_home(view.world, view.flow, times, rows.append)
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


def draw_stocks(svg: Svg, frame: Frame, axis: Axis, stocks: Stocks, actor: Thing, gutter: float, y: float) -> float:
    courses = stocks.courses.get(actor, [])
    if courses:
        y = _supplies(svg, frame, axis, courses, gutter, y)
    home = stocks.homes.get(actor)
    if home is not None:
        _HomeStrip(frame, axis, home, y).draw(svg, gutter)
        y += HOME
    return y


def _supplies(svg: Svg, frame: Frame, axis: Axis, courses: list[Course], gutter: float, y: float) -> float:
    """A row for each supply: from full, at its top, down to the reserve, which is the line below it."""
    actor = courses[0].actor
    with svg.group("supplies", f"{actor.title}: what is left of each supply", data={"data-actor": actor.name}):
        left, right = frame.clip(frame.start, axis.right(frame.times.makespan))
        for number, course in enumerate(courses):
            top, low = y + number * SUPPLY_ROW, y + (number + 1) * SUPPLY_ROW - LESS
            svg.text(gutter, low + 0.6, _supply_words(course), SMALL, "f-soft", width=frame.left - gutter - 6)
            if right <= left:
                continue
            points = _course_points(frame, axis, course, top, low)
            if len(points) > 1:
                area = [(points[0][0], low), *points, (points[-1][0], low)]
                svg.path(way(area, True), "f-wash s-soft", 0.3)
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


def _course_points(
    frame: Frame, axis: Axis, course: Course, top: float, low: float
) -> list[tuple[float, float]]:
    if course.unknown is not None or not course.draws:
        return []
    kept = float(course.supply.reserve.value) if course.supply.reserve is not None else 0.0
    full = float(course.supply.amount.value)
    span = (full - kept) or 1.0

    def at(position: float, left: float) -> tuple[float, float]:
        y = low - (low - top) * (left - kept) / span
        return frame.x(position), min(max(y, top), low + LESS - 0.8)

    points: list[tuple[float, float]] = []
    for draw in course.draws:
        a, b = axis.right(draw.since), max(axis.left(draw.until), axis.right(draw.since))
        before, after = float(draw.before), float(draw.before - draw.drawn)
        for position, left in ((a, before), (b, after)):
            points.append(at(position, left))
    return _clipped(points, frame.left, frame.right)


def _clipped(points: list[tuple[float, float]], left: float, right: float) -> list[tuple[float, float]]:
    """The part of a line that runs from left to right between two uprights."""
    found: list[tuple[float, float]] = []
    for (ax, ay), (bx, by) in zip(points, points[1:], strict=False):
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

    def draw(self, svg: Svg, gutter: float) -> None:
        frame, home, y, low = self.frame, self.home, self.y, self.low
        actor = home.tally.actor
        with svg.group("way-home", f"{actor.title}: the way home", data={"data-actor": actor.name}):
            svg.text(gutter, y + 15, "way home: needed", SMALL, "f-soft")
            svg.text(gutter, y + 23, "below what is left", SMALL, "f-soft")
            lines: list[list[tuple[float, float]]] = []
            for since, until, need, later, left, last in home.rows:
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
            self._tightest(svg)

    def _tightest(self, svg: Svg) -> None:
        frame, moment = self.frame, self.home.tally.tightest
        at = self.x(float(moment.t)) if moment is not None else frame.left - 1
        words = home_words(self.home)
        if moment is not None and frame.left <= at <= frame.right:
            high = self.low - max(float(moment.left), 0) * self.scale
            svg.line(at, high, at, self.low - float(moment.need) * self.scale, "s-ink", 0.8, "2 1.5")
            svg.circle(at, high, 2, "f-paper s-ink", 1)
            fits = at + text_width(words, SMALL) + 6 <= frame.right
            svg.text(at + 3 if fits else at - 3, self.y + 7, words, SMALL, "f-ink", anchor="" if fits else "end")
        else:
            svg.text(frame.left + 3, self.y + 7, words, SMALL, "f-soft")


def home_words(home: HomeLine) -> str:
    tally = home.tally
    if tally.stuck is not None:
        return f"NO WAY HOME from {clock(Fraction(tally.stuck[0]))} to {clock(Fraction(tally.stuck[1]))}"
    moment = tally.tightest
    if moment is None:
        return f"way home at most {minutes(Fraction(tally.longest))}" if tally.longest else "way home not known"
    by = "" if moment.by is None else f" of {moment.by.name}"
    margin = minutes(Fraction(abs(moment.margin))) + (" TOO LITTLE" if moment.margin < 0 else " to spare")
    need, left = minutes(Fraction(moment.need)), minutes(Fraction(max(moment.left, 0)))
    return f"tightest at {clock(Fraction(moment.t))}: {need} needed, {left}{by} left, {margin}"
