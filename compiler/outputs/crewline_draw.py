"""Draws the lanes of a crew timeline: bars on a line between posts, flags, waits, and what ties lanes together."""

from __future__ import annotations

from collections.abc import Sequence

from jackstay.model.records import Thing
from jackstay.outputs.clock import clock
from jackstay.outputs.crewline_key import LINE
from jackstay.outputs.crewline_lane import (
    FLAG_ROW,
    HATCH,
    NAME_LINE,
    NAME_ROOM,
    NUMBER_ROW,
    PENNANT,
    PLACES,
    POINT,
    Frame,
    LaneSketch,
    PlacedBar,
    PlacedFlag,
    PlacedWait,
    name_lines,
)
from jackstay.outputs.crewline_parts import Tie
from jackstay.outputs.look import SMALL, STRONG, ActorStyle, step_link
from jackstay.outputs.order_signs import RANK_DASH
from jackstay.outputs.svg import Svg, way


def draw_lane(svg: Svg, sketch: LaneSketch, y: float) -> None:
    frame, lane = sketch.frame, sketch.lane
    style = frame.styles[lane.actor]
    base = y + sketch.line
    with svg.group("lane", f"{lane.actor.title}", data={"data-actor": lane.actor.name}):
        _rope(svg, sketch, style, base)
        for post in sketch.posts:
            if post.here:
                svg.line(post.x, base - PLACES + 2.5, post.x, base + 2.5, "s-ink", 1.8)
            svg.text(post.words_left, base - 3.4, post.words, SMALL, "f-soft")
        for wait in sketch.waits:
            _wait(svg, sketch, wait, y)
        for bar in sketch.bars:
            _bar(svg, sketch, bar, y)
        for flag in sketch.flags:
            _flag(svg, sketch, flag, y)
        row = y + sketch.numbers_top + 7
        for x, number, words in sketch.slack_words:
            svg.text(x, row + number * NUMBER_ROW, words, SMALL, "f-soft")


def _rope(svg: Svg, sketch: LaneSketch, style: ActorStyle, base: float) -> None:
    frame = sketch.frame
    right = min(frame.x(sketch.lane.end), frame.right)
    left = frame.left
    if right > left:
        svg.line(left, base, right, base, f"l{style.hue}", 2, style.dash)
        svg.line(left, base - 4, left, base + 8, "s-ink", 2.4)
        over = frame.x(sketch.lane.end) <= frame.right + 0.01
        svg.line(right, base - 4, right, base + 8, "s-ink", 2.4)
        if not over:
            svg.path(way([(right + 2.5, base - 3), (right + 6, base), (right + 2.5, base + 3)]), "n s-ink", 1)


# --- bars ------------------------------------------------------------------------------------------------------------


def outline(placed: PlacedBar, y: float) -> list[tuple[float, float]]:
    """From the line down; a bar that goes on elsewhere is pointed there."""
    left, right, low = placed.left, placed.right, y + placed.height
    middle = (y + low) / 2
    points = [(left + POINT, y) if placed.cut_left else (left, y)]
    points += (
        [(right - POINT, y), (right, middle), (right - POINT, low)] if placed.cut_right else [(right, y), (right, low)]
    )
    points += [(left + POINT, low), (left, middle)] if placed.cut_left else [(left, low)]
    return points


def _bar(svg: Svg, sketch: LaneSketch, placed: PlacedBar, top: float) -> None:
    bar, y = placed.bar, top + sketch.line
    view = sketch.frame.view
    data = {**step_link(view, bar.step), "data-actor": bar.actor.name}
    cls = "goes-on" if placed.again else "step"
    with svg.box(f"{cls} {bar.sort}", bar.label, data=data):
        inserted = bar.sort == "inserted"
        fill = "f-wash" if inserted else "f-tag" if bar.sort == "written" else "f-paper"
        edge = "s-loud" if bar.sort == "hole" else "s-soft" if inserted else "s-ink"
        dash = "6 3" if bar.sort == "hole" else RANK_DASH.get(bar.rank, "") if not inserted else ""
        wide = 0.6 if inserted else 1.3 if dash else 0.9
        svg.path(way(outline(placed, y), True), f"{fill} {edge}", wide, dash)
        left, right, low = placed.left, placed.right, y + placed.height
        if bar.stretch is not None:
            x = max(sketch.frame.x(bar.stretch), left)
            if x < right:
                svg.rect(x, low - 4, right - x, 4, "s-soft", stroke_width=0.5, fill=svg.hatch())
        if bar.blank:
            svg.rect(left + 0.5, low - 4.5, right - left - 1, 4, "", fill=svg.hatch())
        if bar.joint and right - left > 9:
            svg.rect(left + 1.7, y + 1.7, right - left - 3.4, placed.height - 3.4, "n s-ink", stroke_width=0.5)
        if bar.critical:
            for edge_y in (y, low):
                svg.line(left, edge_y, right, edge_y, "s-ink", 2.6)
        if placed.number and placed.lines:
            svg.text((left + right) / 2, y + 9.2, placed.number, SMALL, "f-ink", True, "middle")
        elif not placed.number:
            x = left + 1.8 + POINT * placed.cut_left
            start = y + (8.2 if inserted else 9)
            for number, words in enumerate(placed.lines):
                svg.text(x, start + number * LINE, words, SMALL, "f-soft" if inserted else "f-ink")
    if placed.below is not None:
        _number(svg, sketch, placed.below, placed.number, (left + right) / 2, low, top, data)
    if bar.slack and not placed.cut_right:
        at = top + sketch.line + sketch.bar_height + 3
        end = min(sketch.frame.x(bar.slack_right), sketch.frame.right)
        if end > right + 0.5:
            svg.path(way([(right, low), (right, at), (end, at)]), "n s-soft", 0.8)
            svg.line(end, at - 2.2, end, at + 2.2, "s-soft", 1)


def _number(
    svg: Svg,
    sketch: LaneSketch,
    below: tuple[float, int],
    number: str,
    middle: float,
    low: float,
    top: float,
    data: dict[str, str],
) -> None:
    x, row = below
    with svg.group("numbered", data=data):
        start = top + sketch.numbers_top + row * NUMBER_ROW
        svg.path(way([(middle, low), (x, start + 1)]), "n s-soft", 0.5)
        svg.text(x, start + 7.2, number, SMALL, "f-ink", True, "middle")


def _wait(svg: Svg, sketch: LaneSketch, placed: PlacedWait, top: float) -> None:
    y = top + sketch.line
    wait = placed.wait
    data = {**step_link(sketch.frame.view, wait.step), "data-actor": sketch.lane.actor.name}
    label = f"{sketch.lane.actor.title} {wait.words[0]}, {wait.length}, from {clock(wait.since)}"
    with svg.group("wait", label, data=data):
        svg.rect(placed.left, y + 1.4, placed.right - placed.left, HATCH - 1, "", fill=svg.hatch())
        svg.line(placed.left, y + HATCH + 0.4, placed.right, y + HATCH + 0.4, "s-soft", 0.5)
        for number, words in enumerate(placed.lines):
            bold = bool(placed.number)
            svg.text(placed.words_left, y + HATCH + 8.4 + number * LINE, words, SMALL, "f-ink", bold)
    if placed.below is not None:
        middle = (placed.left + placed.right) / 2
        _number(svg, sketch, placed.below, placed.number, middle, y + HATCH + 0.4, top, data)


def _flag(svg: Svg, sketch: LaneSketch, placed: PlacedFlag, top: float) -> None:
    flag, x, turn = placed.flag, placed.x, placed.turn
    base = top + sketch.line
    y = base - PLACES - placed.row * FLAG_ROW
    data = {**step_link(sketch.frame.view, flag.step), "data-actor": sketch.lane.actor.name}
    label = f"{sketch.lane.actor.title} calls {flag.words}" if flag.sort == "call" else flag.words
    with svg.group(f"flag {flag.sort}", f"{label}, at {clock(flag.when)}", data=data):
        pole(svg, flag.sort, x, y, base, turn)
        anchor = "" if turn > 0 else "end"
        words_x = x + turn * PENNANT
        svg.text(words_x, y - 2.2, placed.words, SMALL, "f-ink", placed.number, anchor)


def pole(svg: Svg, sort: str, x: float, y: float, base: float, turn: int = 1) -> None:
    """A flag on its pole. y: the lower edge of its row; base: the line."""
    edge = "s-ink" if sort == "call" else "s-loud"
    svg.line(x, y - FLAG_ROW + 1, x, base, edge, 0.9, "" if sort == "call" else "2 1.4")
    points = [(x, y - FLAG_ROW + 1), (x + turn * (PENNANT - 1.5), y - FLAG_ROW + 3.8), (x, y - FLAG_ROW + 6.6)]
    svg.path(way(points, True), f"{edge} {'f-ink' if sort == 'call' else 'f-paper'}", 0.8)


# --- ties ------------------------------------------------------------------------------------------------------------


def draw_tie(svg: Svg, sort: str, x: float, start: float, end: float) -> None:
    """An upright line from one lane's line to another's. start may lie below end."""
    down = 1 if end > start else -1
    if sort == "joint":
        for aside in (-1.1, 1.1):
            svg.line(x + aside, start, x + aside, end, "s-ink", 0.8)
    elif sort == "handover":
        svg.line(x, start, x, end, "s-paper", 3.4)
        svg.arrow(x, start, x, end - 1.2 * down, "s-ink", 1.5)
    elif sort == "runs":
        svg.line(x, start, x, end, "s-ink", 1.1, "0.8 2")
    elif sort == "beside":
        svg.line(x, start, x, end, "s-ink", 0.9, "8 2 2 2")
    elif sort == "chain":
        svg.line(x, start, x, end, "s-ink", 2.6)
    else:
        svg.line(x, start, x, end, "s-ink", 0.9)
    if sort in ("joint", "meeting"):
        for y in (start, end):
            svg.circle(x, y, 2.4, "f-paper s-ink", 1)


def draw_ties(
    svg: Svg, ties: Sequence[tuple[Tie, float]], sketches: dict[Thing, tuple[LaneSketch, float]], link: Frame
) -> None:
    """sketches: of each actor on the sheet, the lane and its top. A tie to a lane on another sheet ends in the badge
    of who is there."""
    for tie, x in ties:
        first, second = (sketches.get(actor) for actor in tie.ends)
        if first is None or second is None:
            continue
        (one, y1), (other, y2) = first, second
        start, end = y1 + one.line, y2 + other.line
        if tie.sort != "chain":  # from below the bar of whoever stands above
            height = _bar_height(one if start < end else other, tie)
            if start < end:
                start += height
            else:
                end += height + (1 if tie.sort == "handover" else 0)
        data = {**step_link(link.view, tie.step), "data-from": tie.ends[0].name, "data-to": tie.ends[1].name}
        with svg.group(f"tie {tie.sort}", tie.label, data=data):
            draw_tie(svg, tie.sort, x, start, end)


def _bar_height(sketch: LaneSketch, tie: Tie) -> float:
    return next((one.height for one in sketch.bars if one.bar.step is tie.step), 0.0)


def draw_name(svg: Svg, actor: Thing, style: ActorStyle, figures: Sequence[str], x: float, y: float) -> None:
    """An actor's badge and name, with figures below."""
    svg.badge(x + 7, y + 5, style, 5.2)
    row = y + 8.2
    for words in name_lines(actor):
        svg.text(x + 17, row, words, STRONG, "f-ink", True)
        row += NAME_LINE
    for words in figures:
        svg.text(x + 1, row + 0.5, words, SMALL, "f-soft", width=NAME_ROOM - 1)
        row += LINE
