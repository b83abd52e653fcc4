"""One sheet of the order diagram: panels as they were laid out, drawn in our own look."""

from __future__ import annotations

import math
from collections.abc import Mapping

from jackstay.model.records import Thing
from jackstay.outputs.drawing import Layout, Point
from jackstay.outputs.lettering import fold, text_width
from jackstay.outputs.look import SMALL, STRONG, TEXT, ActorStyle
from jackstay.outputs.order_boxes import (
    BADGE,
    BADGES,
    BAND,
    GROUP_HEAD,
    LINE,
    PAD,
    SIGN,
    WIDTH,
    WORDS,
    Box,
    Group,
    Panel,
    Row,
    Wire,
)
from jackstay.outputs.order_signs import RANK_DASH, middle, outline, sign, wire
from jackstay.outputs.svg import Svg

PANEL_HEAD = 15.0  # over a panel: its name on the sheet
SECTION_HEAD = 32.0
EDGE = 6.0
SIGNED = ("in", "out", "wait", "call", "card")


def panel_size(panel: Panel, layout: Layout) -> tuple[float, float]:
    """What a panel takes on its sheet, with what stands over it."""
    if panel.head is None:
        return layout.width, layout.height + PANEL_HEAD
    return max(layout.width + 2 * EDGE, WIDTH + 60), layout.height + SECTION_HEAD + EDGE


class PanelDrawing:
    """where: as of `Row.shown`. name: what the panel is called, on a sheet with several."""

    def __init__(
        self,
        svg: Svg,
        panel: Panel,
        layout: Layout,
        styles: dict[Thing, ActorStyle],
        where: Mapping[str, str],
        name: str,
    ) -> None:
        self.svg = svg
        self.panel = panel
        self.layout = layout
        self.styles = styles
        self.where = where
        self.name = name
        self.badges: list[Point] = []

    def draw(self, x: float, y: float) -> None:
        """x, y: its upper left corner."""
        width, height = panel_size(self.panel, self.layout)
        if self.panel.head is not None:
            self._section(x, y, width, height)
            x, y = x + (width - self.layout.width) / 2, y + SECTION_HEAD
        else:
            if self.name:
                self.svg.text(x + 8, y + 11, self.name, STRONG, "f-ink", True)
            y += PANEL_HEAD
        self.at = {key: (x + cx, y + cy) for key, (cx, cy) in self.layout.boxes.items()}
        frames = {key: (x + a, y + b, x + c, y + d) for key, (a, b, c, d) in self.layout.frames.items()}
        self.frames = list(frames.values())
        for group in self.panel.groups:
            self._frame(group, frames[group.key])
        for one, curve in sorted(
            zip(self.panel.wires, self.layout.curves, strict=True), key=lambda pair: not pair[0].critical
        ):
            self._wire(one, [(x + px, y + py) for px, py in curve])
        for group in self.panel.groups:
            self._frame_head(group, frames[group.key])
        for key, box in self.panel.boxes.items():
            self._box(box, *self.at[key])

    def _section(self, x: float, y: float, width: float, height: float) -> None:
        assert self.panel.head is not None
        title, about = self.panel.head
        if self.name:
            title = f"{self.name} · {title}"
        with self.svg.box("section", f"{title}: {about}", data=self.panel.data):
            self.svg.rect(x, y, width, height, "n s-ink", 6, stroke_width=1.1)
            self.svg.text(x + 9, y + 13, title, STRONG, "f-ink", True, width=width - 18)
            self.svg.text(x + 9, y + 23, about, SMALL, "f-soft", width=width - 18)

    def _frame(self, group: Group, frame: tuple[float, float, float, float]) -> None:
        left, top, right, low = frame
        dash = RANK_DASH.get(group.rank, "1.6 3")
        with self.svg.group("task", data=group.data, tip=f"{group.title} ({group.about})"):
            self.svg.rect(
                left,
                top,
                right - left,
                low - top,
                "n s-soft",
                5,
                stroke_width=1.5 if dash else 0.8,
                stroke_dasharray=dash,
            )

    def _frame_head(self, group: Group, frame: tuple[float, float, float, float]) -> None:
        """Over the wires: they run under it."""
        left, top, right, _ = frame
        room = right - left - 14
        title, about = fold(group.title, TEXT, room, True), fold(group.about, SMALL, room)
        with self.svg.group("task-head", data=group.data):
            for words, size, bold, base in ((title, TEXT, True, 11.0), (about, SMALL, False, 20.0)):
                wide = text_width(words, size, bold)
                self.svg.rect(left + 6, top + base - size * 0.8, wide + 2, size * 1.05, "f-paper")
            self.svg.text(left + 7, top + 11, group.title, TEXT, "f-ink", True, width=room)
            self.svg.text(left + 7, top + 20, group.about, SMALL, "f-soft", width=room)

    def _wire(self, one: Wire, points: list[Point]) -> None:
        boxes = self.panel.boxes
        ends = {"data-from": _name(boxes[one.tail]), "data-to": _name(boxes[one.head]), "data-why": one.sort}
        style = self.styles[one.actor] if one.actor is not None else None
        cls = "wire critical" if one.critical else "wire"
        with self.svg.group(cls, data=ends, tip=one.label):
            wire(self.svg, points, one.sort, style, one.critical, one.both)
            if style is not None and len(boxes[one.tail].actors) + len(boxes[one.head].actors) > 2:
                x, y = middle(points)
                if self._free(x, y) and math.dist(points[0], points[-1]) > 26:
                    self.badges.append((x, y))
                    self.svg.badge(x, y, style)

    def _free(self, x: float, y: float) -> bool:
        """Whether a badge there is over no box and no other badge."""
        near = 15.0
        if any(abs(x - bx) < near and abs(y - by) < near for bx, by in self.badges):
            return False
        if any(left - 8 < x < right + 8 and top - 8 < y < top + GROUP_HEAD + 8 for left, top, right, _ in self.frames):
            return False
        return all(
            abs(x - cx) > WIDTH / 2 + 7 or abs(y - cy) > self.panel.boxes[key].height / 2 + 7
            for key, (cx, cy) in self.at.items()
        )

    # --- a box -------------------------------------------------------------------------------------------------------

    def _box(self, box: Box, cx: float, cy: float) -> None:
        svg, x, y = self.svg, cx - WIDTH / 2, cy - box.height / 2
        with svg.box(f"node {box.shape}" + (" critical" if box.critical else ""), box.label, data=box.data):
            outline(svg, box.shape, x, y, WIDTH, box.height, box.critical, box.rank)
            self._band(box, x + box.left - PAD - BAND + 3, y + 4.5, box.height - 9)
            left = x + box.left
            top = y + PAD
            for row in (row for row in box.rows if not row.late):
                self._row(row, box, left, top)
                top += LINE
            for number, actor in enumerate(box.actors):
                svg.badge(left + BADGE / 2 - 1 + number * BADGE, top + 8, self.styles[actor])
            beside = BADGE * len(box.actors) if box.badges_beside else 0
            if not beside and box.actors:
                top += BADGES
            low = 2.6 if beside and len(box.lines) == 1 else 0
            self._heading(box, left + beside + (1.5 if beside else 0), top + 8.2 + low)
            top += max(WORDS * len(box.lines), BADGES if beside else 0)
            for row in (row for row in box.rows if row.late):
                self._row(row, box, left, top)
                top += LINE

    def _heading(self, box: Box, x: float, y: float) -> None:
        for line in box.lines:
            self.svg.text(x, y, line, TEXT, "f-ink", True)
            y += WORDS

    def _band(self, box: Box, x: float, y: float, height: float) -> None:
        """The actors' fill patterns, one below another."""
        if not box.actors or box.shape == "card":
            return
        each = height / len(box.actors)
        for number, actor in enumerate(box.actors):
            self.svg.rect(x, y + number * each, 4, each, "", fill=self.svg.pattern(self.styles[actor]))

    def _row(self, row: Row, box: Box, x: float, top: float) -> None:
        svg, base, room = self.svg, top + 7, box.room
        if row.far:
            svg.rect(x - 1.5, top - 0.4, room + 1.5, LINE - 0.6, "f-wash", 2)
        if row.right:
            wide = min(text_width(row.right, SMALL), room * 0.6)
            words = fold(row.right, SMALL, wide)
            svg.text(x + room, base, words, SMALL, "f-soft", anchor="end")
            room -= wide + 5
        if row.sort in SIGNED:
            sign(svg, row.sort, x, top + 4)
            x, room = x + SIGN, room - SIGN
        bold = row.sort == "rank"
        cls = "f-loud" if bold and box.shape == "card" else "f-soft" if row.sort == "small" else "f-ink"
        if row.data:
            with svg.group("small" if row.sort == "small" else "stub", data=row.data):
                svg.text(x, base, row.shown(self.where), SMALL, cls, bold, width=room)
        else:
            svg.text(x, base, row.shown(self.where), SMALL, cls, bold, width=room)


def _name(box: Box) -> str:
    """What the box stands for: a step, a task, a fallback."""
    return next((box.data[key] for key in ("data-step", "data-task", "data-fallback") if key in box.data), box.key)
