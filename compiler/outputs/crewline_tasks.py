"""The tasks above the lanes of a crew timeline, each from its first step to its last, in as few rows as may be."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from jackstay.model.records import Task
from jackstay.outputs.clock import clock
from jackstay.outputs.crewline_key import Strip
from jackstay.outputs.crewline_lane import POINT, Frame
from jackstay.outputs.crewline_parts import Parts
from jackstay.outputs.lettering import text_width
from jackstay.outputs.look import SMALL
from jackstay.outputs.order_signs import RANK_DASH
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.wording import source_place

TASK_ROW = 12.5


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
                self._put(
                    PlacedTask(task, left, right, 0, words, left + 3 + POINT * cut_left, cut_left, cut_right), right
                )
                return
        words = task_words(task)[0]
        wide = text_width(words, SMALL) + 4
        beside = PlacedTask(task, left, right, 0, words, right + 3, cut_left, cut_right)
        if right + wide <= frame.right and not any(right < x < right + wide for x in crossings):
            self._put(beside, right + wide)
            return
        when = clock(task_start(frame, task))
        data = {"data-task": task.name, "data-place": source_place(task.decl)}
        told = f"task {words} · {data['data-place']}"
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
