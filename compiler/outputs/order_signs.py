"""How boxes and wires of the order diagram look, told apart by outline and dash, never by hue alone; the legend."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from jackstay.model.records import Thing
from jackstay.outputs.drawing import Point
from jackstay.outputs.look import ActorStyle
from jackstay.outputs.order_boxes import INSET
from jackstay.outputs.sheet import Sign, badge_legend
from jackstay.outputs.svg import Svg, way

HEAD = 6.0  # an arrow's length
RANK_DASH = {"required": "", "wanted": "9 3", "get-ahead": "1.6 3"}
# sort -> (class of the line, width, dash)
LINES = {
    "own": ("s-ink n", 1.4, ""),
    "call": ("s-ink n", 1.2, "5 3"),
    "after": ("s-soft n", 1.1, "1.2 2.6"),
    "beside": ("s-ink n", 1.0, "8 2 2 2"),
    "card": ("s-loud n", 1.3, "3 2"),
}


def outline(svg: Svg, shape: str, x: float, y: float, width: float, height: float, critical: bool, rank: str) -> None:
    """The first shape is as large as the box."""
    right, low = x + width, y + height
    line = 2.4 if critical else 0.9
    if shape in ("handover", "meeting"):
        middle = y + height / 2
        points = [
            (x, middle),
            (x + INSET, y),
            (right - INSET, y),
            (right, middle),
            (right - INSET, low),
            (x + INSET, low),
        ]
        svg.path(way(points, True), "f-tag s-ink", line)
        if shape == "handover":
            for at, turn in ((x + INSET + 1, 1), (right - INSET - 1, -1)):
                ends = [(at, y + 3.5), (at - turn * (INSET - 1.5), middle), (at, low - 3.5)]
                svg.path(way(ends), "n s-ink", 0.9)
    elif shape == "joint":
        svg.rect(x, y, width, height, "f-tag s-ink", 2, stroke_width=line)
        svg.rect(x + 2.4, y + 2.4, width - 4.8, height - 4.8, "n s-ink", 1, stroke_width=0.7)
    elif shape == "inserted":
        svg.rect(x, y, width, height, "f-wash s-ink", 9, stroke_width=line, stroke_dasharray="1.5 2")
    elif shape == "hole":
        svg.rect(x, y, width, height, "f-paper s-loud", 2, stroke_width=max(line, 1.4), stroke_dasharray="6 3")
    elif shape == "card":
        ear = 9.0
        points = [(x, y), (right - ear, y), (right, y + ear), (right, low), (x, low)]
        svg.path(way(points, True), "f-paper s-loud", 1.2, "4 2.2")
        svg.path(way([(right - ear, y), (right - ear, y + ear), (right, y + ear)]), "n s-loud", 0.9)
    else:
        cut = 5.0
        points = [(x + cut, y), (right, y), (right, low), (x + cut, low), (x, low - cut), (x, y + cut)]
        dash = RANK_DASH.get(rank, "1.6 3") if shape == "task" else ""
        svg.path(way(points, True), "f-tag s-ink", max(line, 1.6 if dash else 0), "" if critical else dash)
        if critical and dash:
            svg.path(
                way([(x + cut + 2.6, y + 2.6), (right - 2.6, y + 2.6), (right - 2.6, low - 2.6)]), "n s-ink", 1, dash
            )


def wire(
    svg: Svg, points: Sequence[Point], sort: str, style: ActorStyle | None, critical: bool, both: bool = False
) -> None:
    cls, width, dash = LINES[sort]
    if sort == "own" and style is not None:
        cls, width, dash = f"l{style.hue} n", 1.7, style.dash
    body = list(points) if sort == "beside" else shortened(points, HEAD * 0.8)
    if both:
        body = shortened(body[::-1], HEAD * 0.8)[::-1]
    if critical:
        svg.path(way(body), "s-ink n", width + 4.2)
        svg.path(way(body), "s-paper n", width + 2.4)
    svg.path(way(body), cls, width, dash)
    if sort == "beside":
        for x, y in (points[0], points[-1]):
            svg.circle(x, y, 2.6, "f-paper s-ink", 1)
        return
    _head(svg, points, sort, cls)
    if both:
        _head(svg, points[::-1], sort, cls)
    elif sort == "call":
        svg.circle(points[0][0], points[0][1], 2.3, "f-ink s-ink", 0.5)
    elif sort == "card":
        svg.circle(points[0][0], points[0][1], 2.3, "f-paper s-loud", 1.1)


def _head(svg: Svg, points: Sequence[Point], sort: str, cls: str) -> None:
    (x, y), (bx, by) = points[-1], shortened(points, HEAD)[-1]
    long = math.hypot(x - bx, y - by) or 1
    ux, uy = (x - bx) / long, (y - by) / long
    bx, by = x - ux * HEAD, y - uy * HEAD
    side = HEAD * (0.55 if sort == "after" else 0.42)
    corners = [(bx - uy * side, by + ux * side), (x, y), (bx + uy * side, by - ux * side)]
    line = cls.split()[0]
    if sort == "card":
        svg.path(way(corners), f"n {line}", 1.3)
    else:
        fill = "f-paper" if sort == "after" else f"f-{line[2:]}" if line.startswith("s-") else f"h{line[1:]}"
        svg.path(way(corners, True), f"{line} {fill}", 0.9 if sort == "after" else 0.5)


def shortened(points: Sequence[Point], by: float) -> list[Point]:
    """Without the last ``by`` points of its length; at least a start and an end."""
    kept = list(points)
    while len(kept) > 1:
        (ax, ay), (bx, by_) = kept[-2], kept[-1]
        long = math.hypot(bx - ax, by_ - ay)
        if long > by:
            share = (long - by) / long
            return [*kept[:-1], (ax + (bx - ax) * share, ay + (by_ - ay) * share)]
        by -= long
        kept.pop()
    return [points[0], points[0]]


def middle(points: Sequence[Point]) -> Point:
    """Half way along."""
    whole = sum(math.dist(a, b) for a, b in pairwise(points))
    return shortened(points, whole / 2)[-1]


# --- signs in front of a line ----------------------------------------------------------------------------------------


def sign(svg: Svg, sort: str, x: float, y: float) -> None:
    """Of a line of a box; x: its left edge, y: its middle. At most 10 wide."""
    if sort == "wait":
        svg.rect(x, y - 3, 9, 6, "s-ink", stroke_width=0.7, fill=svg.hatch())
    elif sort == "in":
        svg.path(way([(x + 2, y - 3), (x + 8, y), (x + 2, y + 3)], True), "f-ink s-ink", 0.4)
    elif sort == "out":
        svg.path(way([(x + 2, y - 3), (x + 8, y), (x + 2, y + 3)], True), "f-paper s-ink", 0.8)
    elif sort == "call":
        svg.circle(x + 3, y, 2.3, "f-ink s-ink", 0.5)
        svg.path(way([(x + 5.5, y), (x + 10, y)]), "n s-ink", 1.1, "2 1.2")
    elif sort == "card":
        svg.circle(x + 3, y, 2.3, "f-paper s-loud", 1.1)
        svg.path(way([(x + 5.5, y), (x + 10, y)]), "n s-loud", 1.2, "2 1.2")


def _box(shape: str, critical: bool = False, rank: str = "") -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        outline(svg, shape, x - 12, y - 5, 24, 10, critical, rank)

    return draw


def _line(sort: str, critical: bool = False) -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        wire(svg, [(x - 12, y), (x + 12, y)], sort, None, critical)

    return draw


def _mark(sort: str) -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        sign(svg, sort, x - 5, y)

    return draw


def _frame(rank: str) -> Sign:
    def draw(svg: Svg, x: float, y: float) -> None:
        dash = RANK_DASH[rank]
        svg.rect(x - 12, y - 5, 24, 10, "n s-soft", 4, stroke_width=1.4 if dash else 0.8, stroke_dasharray=dash)

    return draw


def step_legend(styles: dict[Thing, ActorStyle]) -> list[tuple[Sign, str]]:
    return [
        *badge_legend(styles),
        (_box("single"), "one does it"),
        (_box("joint"), "joint: several from one heading"),
        (_box("handover"), "hand-over from one to the other"),
        (_box("meeting"), "two meet, as for help"),
        (_box("inserted"), "a way or a tool, worked out ('>' in a box: the same)"),
        (_box("hole"), "not yet written"),
        (_box("card"), "only if it is called for: a fallback, a task on a condition"),
        (_frame("required"), "a task"),
        (_frame("wanted"), "wanted: it may be dropped"),
        (_frame("get-ahead"), "get-ahead: done if there is time"),
        (_line("own"), "the actor's next step (in the actor's own dash)"),
        (_line("call"), "a call that is waited for"),
        (_line("after"), "the text says after"),
        (_line("beside"), "runs beside"),
        (_line("card"), "may call the fallback"),
        (_line("own", True), "between rails, boxes outlined thick: the critical chain"),
        *_marks(),
    ]


def _marks() -> list[tuple[Sign, str]]:
    return [
        (_mark("wait"), "waits for a call"),
        (_mark("call"), "calls"),
        (_mark("in"), "comes from another sheet"),
        (_mark("out"), "goes on, on another sheet"),
    ]


def task_legend(styles: dict[Thing, ActorStyle]) -> list[tuple[Sign, str]]:
    return [
        *badge_legend(styles),
        (_box("task", rank="required"), "a task, required"),
        (_box("task", rank="wanted"), "wanted: it may be dropped"),
        (_box("task", rank="get-ahead"), "get-ahead: done if there is time"),
        (_box("card"), "a fallback"),
        (_line("call"), "waits for calls"),
        (_line("after"), "the text says after"),
        (_line("own"), "an actor goes on (one alone: in the actor's own dash)"),
        (_line("card"), "may call the fallback"),
        (_line("own", True), "between rails, boxes outlined thick: the critical chain"),
        (_mark("wait"), "the call that is waited for"),
        (_mark("in"), "what it comes after"),
        (_mark("out"), "where its steps are drawn"),
    ]
