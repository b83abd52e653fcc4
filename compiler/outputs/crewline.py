"""The crew timeline: what each of the crew does when, as lines between posts with steps hanging from them.

timeline-<excursion>.svg, and timeline-<excursion>-2.svg … where it is long: every sheet shows a window of the
excursion to the same scale. `crewline_campaign` draws all excursions on one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from jackstay.model.records import Thing, World
from jackstay.outputs.clock import clock, minutes, total
from jackstay.outputs.crewline_axis import Axis
from jackstay.outputs.crewline_campaign import campaign, free_name
from jackstay.outputs.crewline_clock import OVERVIEW, Ends, Overview, draw_ruler, ends_of, limit_of, ruler_height
from jackstay.outputs.crewline_draw import draw_lane, draw_name, draw_ties
from jackstay.outputs.crewline_key import Key, Numbers
from jackstay.outputs.crewline_lane import Crossings, LaneSketch
from jackstay.outputs.crewline_lane import Frame as Window
from jackstay.outputs.crewline_legend import legend_of
from jackstay.outputs.crewline_parts import Parts, Tie, lane_order, parts_of
from jackstay.outputs.crewline_strips import Stocks, draw_stocks, stocks_of
from jackstay.outputs.crewline_tasks import TaskSketch
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import frame_of_time
from jackstay.outputs.look import A3_WIDTH, MARGIN, TEXT, ActorStyle, actor_styles
from jackstay.outputs.sheet import Sheet, Sign
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.timing.records import Times

GUTTER = 118.0
EDGE = 8.0  # at the right, for arrowheads
LEAST_KEY = 60.0
USUAL_LANE = 62.0
TRIES = 5
LINES = (4, 3)  # of words in a bar: fewer where a sheet is too full


def crew_timelines(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """File name -> text of the sheets."""
    styles = actor_styles(views, world.things)
    taken = {"timeline-campaign"}
    bases = [free_name(f"timeline-{view.excursion.name}", taken) for view in views]
    made: dict[str, str] = {}
    for view, base in zip(views, bases, strict=True):
        made.update(_Excursion(view, len(views), frame, styles, base, taken).sheets())
    made.update(campaign(world, views, frame, styles, taken))
    return {f"{name}.svg": text for name, text in made.items()}


@dataclass(slots=True)
class _Plan:
    """What stands on one sheet: some lanes in a window of time; or only the rest of a key (no lanes)."""

    window: Window
    start: Fraction
    end: Fraction
    lanes: list[LaneSketch]
    ties: list[tuple[Tie, float]]
    tasks: TaskSketch | None
    key: Key


class _Excursion:
    def __init__(
        self, view: View, of: int, frame: Frame, styles: dict[Thing, ActorStyle], base: str, taken: set[str]
    ) -> None:
        self.view, self.of, self.frame, self.styles = view, of, frame, styles
        self.base, self.taken = base, taken
        self.left, self.right = MARGIN + GUTTER, A3_WIDTH - MARGIN - EDGE

    def sheets(self) -> dict[str, str]:
        view = self.view
        if view.times is None:
            sheet = self._sheet(self.base, "", 1, 1, [])
            sheet.svg.text(sheet.left, sheet.top + 12, NOT_WORKED_OUT, TEXT, "f-loud", True)
            return {self.base: sheet.finish(sheet.top + 24)}
        times = view.times
        self.times: Times = times
        self.ends: Ends | None = ends_of(view)
        self.stocks: Stocks = stocks_of(view, times)
        self.limit, self.touched = limit_of(view, times)
        self.legend = legend_of(view, times, self.styles, self.stocks)
        blank = self._sheet(self.base, f"{clock(times.makespan)} to {clock(times.makespan)}", 10, 10, self.legend)
        self.room = blank.bottom - blank.top - 6
        plans = self._plans()
        names = [self.base]
        names += [free_name(f"{self.base}-{number}", self.taken) for number in range(2, len(plans) + 1)]
        return {
            name: self._draw(plan, name, number, len(plans))
            for number, (name, plan) in enumerate(zip(names, plans, strict=True), start=1)
        }

    def _sheet(self, name: str, window: str, number: int, of: int, legend: Sequence[tuple[Sign, str]]) -> Sheet:
        excursion = self.view.excursion
        about = (
            f"{self.frame.said.heading} {self.view.number} of {self.of}{', ' + window if window else ''}, "
            f"if everything takes its usual time. {frame_of_time(excursion)}"
        )
        return Sheet(name, self.frame, f"Crew timeline: {excursion.title}", about, legend, number, of)

    # --- what stands where -------------------------------------------------------------------------------------------

    def _plans(self) -> list[_Plan]:
        groups = self._groups()
        least = 1
        plans: list[_Plan] = []
        for _ in range(TRIES):
            axis = Axis(self.view, self.times, self.right - self.left, least)
            self.axis = axis
            parts = parts_of(self.view, self.times, axis, groups)
            for lines in LINES:
                plans = self._planned(parts, axis, groups, lines)
                if all(self._height(plan) <= self.room for plan in plans):
                    return plans
            least = axis.sheets + max(1, axis.sheets // 4)
        found: list[_Plan] = []
        for plan in plans:
            found.append(plan)
            key = plan.key
            rest = key.split(self.room - self._height(plan) + key.height())
            while rest.entries:
                more = rest.split(self.room)
                found.append(_Plan(plan.window, plan.start, plan.end, [], [], None, rest))
                rest = more
        return found

    def _groups(self) -> list[list[Thing]]:
        """Who share a sheet."""
        room = self.room - OVERVIEW - ruler_height(self.view, self.times) - 40 - LEAST_KEY
        groups: list[list[Thing]] = []
        used = 0.0
        for actor in lane_order(self.view):
            need = USUAL_LANE + self.stocks.height(actor)
            if not groups or used + need > room:
                groups.append([])
                used = 0.0
            groups[-1].append(actor)
            used += need
        return groups

    def _planned(self, parts: Parts, axis: Axis, groups: list[list[Thing]], lines: int) -> list[_Plan]:
        numbers = Numbers()
        found = []
        for sheet in range(axis.sheets):
            start, end = axis.window(sheet)
            for group in groups:
                key = Key(numbers, A3_WIDTH - 2 * MARGIN)
                window = Window(self.view, self.times, key, self.styles, start, self.left, self.right, lines)
                order = {actor: number for number, actor in enumerate(group)}
                ties = [
                    (tie, window.x(tie.at))
                    for tie in parts.ties
                    if window.begins(tie.at) and tie.ends[0] in order and tie.ends[1] in order
                ]
                limits = self._limits(window)
                tasks = TaskSketch(window, parts, limits)
                lanes = []
                for lane in parts.lanes:
                    if lane.actor in order:
                        crossings = _crossings(order, lane.actor, ties, limits)
                        lanes.append(LaneSketch(window, lane, crossings))
                at = axis.when(start) if sheet else Fraction(0)
                until = axis.when(end) if sheet + 1 < axis.sheets else self.times.makespan
                found.append(_Plan(window, at, until, lanes, ties, tasks, key))
        return found

    def _limits(self, window: Window) -> list[float]:
        """Where the limit and the reserve cross the window, if the plan comes so far."""
        moments = [self.limit, self.touched] if self.limit is not None else []
        found = []
        for at in moments:
            if at is not None and at <= self.times.makespan and window.begins(self.axis.left(at)):
                found.append(window.x(self.axis.left(at)))
        return found

    def _height(self, plan: _Plan) -> float:
        if plan.tasks is None:
            return plan.key.height()
        lanes = sum(lane.height + self.stocks.height(lane.lane.actor) for lane in plan.lanes)
        above = OVERVIEW + plan.tasks.height + ruler_height(self.view, self.times)
        return above + lanes + plan.key.height()

    # --- drawing -----------------------------------------------------------------------------------------------------

    def _draw(self, plan: _Plan, name: str, number: int, of: int) -> str:
        words = f"{clock(plan.start)} to {total(plan.end, self.times.makespan_open)}"
        sheet = self._sheet(name, words, number, of, self.legend)
        svg, y, gutter = sheet.svg, sheet.top, sheet.left
        if plan.tasks is not None:
            overview = Overview(self.view, self.times, self.ends, self.left, self.right)
            y = overview.draw(
                svg,
                gutter,
                y,
                (plan.start, plan.end) if of > 1 else None,
                self.frame.said.excursion,
            )
            y = draw_ruler(svg, plan.window, self.axis, gutter, y)
            y = plan.tasks.draw(svg, gutter, y)
            y = self._lanes(sheet, plan, y)
        y = plan.key.draw(sheet, y)
        return sheet.finish(y)

    def _lanes(self, sheet: Sheet, plan: _Plan, y: float) -> float:
        svg, start = sheet.svg, y
        tops: dict[Thing, tuple[LaneSketch, float]] = {}
        for lane in plan.lanes:
            tops[lane.lane.actor] = (lane, y)
            y += lane.height + self.stocks.height(lane.lane.actor)
        for x in self._limits(plan.window):
            with svg.group("limit", "limit or reserve"):
                svg.line(x, start - 4, x, y - 4, "s-loud", 1.6, "6 2")
        draw_ties(svg, plan.ties, tops, plan.window)
        for number, (actor, (lane, top)) in enumerate(tops.items()):
            if number:
                svg.line(sheet.left, top - 1, self.left - 8, top - 1, "s-hair", 0.6)
            figures = self._figures(actor)
            draw_name(svg, actor, self.styles[actor], figures, sheet.left, top + 6)
            draw_lane(svg, lane, top)
            draw_stocks(svg, plan.window, self.axis, self.stocks, lane, sheet.left, top + lane.height)
        return y

    def _figures(self, actor: Thing) -> list[str]:
        times, found = self.times, []
        if actor not in times.actor_end:
            return ["no steps"]
        words = f"ends {total(times.actor_end[actor], times.actor_open[actor])}"
        spread = self.ends.actors.get(actor) if self.ends is not None and self.ends.given else None
        found.append(f"{words} ({total(spread[0])} to {total(spread[1])})" if spread is not None else words)
        waits = [delay for delay in times.delays if delay.actor is actor]
        idle = sum((delay.until - delay.since for delay in waits), Fraction(0))
        found.append(f"waits {minutes(idle)} in all" if idle else "never waits")
        return found


def _crossings(order: dict[Thing, int], actor: Thing, ties: list[tuple[Tie, float]], limits: list[float]) -> Crossings:
    found = Crossings(list(limits), list(limits), list(limits))
    mine = order[actor]
    for tie, x in ties:
        top, low = sorted((order[tie.ends[0]], order[tie.ends[1]]))
        if top < mine <= low:
            found.above.append(x)
        if top < mine < low:
            found.between.append(x)
        if top <= mine < low:
            found.below.append(x)
    return found
