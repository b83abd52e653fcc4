"""Who holds what: for each excursion the calls from left to right, and under each what everyone and every place has.

who-holds-what-1.svg …: rows are actors, containers and places outside; a bar is a thing, for as long as it is there.
Where a thing is at a call is proven for every timing; where the order leaves it open, each place has a broken bar."""

from __future__ import annotations

from dataclasses import dataclass

from jackstay.model.records import Thing, World
from jackstay.outputs.clock import clock
from jackstay.outputs.custody_calls import Column, Spot, columns_of
from jackstay.outputs.custody_sheets import container_sign, place_sign
from jackstay.outputs.frame import Frame
from jackstay.outputs.lettering import text_width, wrap_text
from jackstay.outputs.look import LEAD, SMALL, TEXT, ActorStyle, actor_styles, step_link
from jackstay.outputs.sheet import Sheet, Sign, badge_legend
from jackstay.outputs.situation import at_home
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import View
from jackstay.outputs.wording import caller, spoken

MOST = 22  # moments on a sheet
NAME = 96.0
BAR, GAP, PAD = 10.4, 2.0, 4.5
ABOUT = (
    "Each column is a call, at the end of its step. A bar: who or what then has the thing, and how, whatever the "
    "timing. What stays inside is not shown."
)


@dataclass(slots=True)
class Bar:
    """A thing in a row from one column to another (that one included). sure: for each of these columns."""

    thing: Thing
    spot: Spot
    words: str
    first: int
    last: int
    sure: list[bool]


@dataclass(slots=True)
class Lane:
    """A row of the sheet: an actor or a place, with its bars in lines that do not overlap."""

    thing: Thing
    lines: list[list[Bar]]


def who_holds_what(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """File name -> text of the sheets."""
    styles = actor_styles(views, world.things)
    parts: list[tuple[View, list[Column], int, int, list[Lane]]] = []
    legend = _legend(styles)
    blank = Sheet("who", frame, "Who holds what", frame.said.put(ABOUT), legend)
    high = blank.bottom - blank.top - 46
    for view in views:
        if view.times is None:
            continue
        columns = columns_of(world, view)
        sheets = -(-len(columns) // MOST)
        per = -(-len(columns) // sheets)
        for first in range(0, len(columns), per):
            shown = columns[first : first + per]
            width = (blank.right - blank.left - NAME) / len(shown)
            for lanes in _pages(_lanes(world, view, shown, width), high):
                parts.append((view, shown, first, len(columns), lanes))
    made: dict[str, str] = {}
    for number, (view, shown, first, count, lanes) in enumerate(parts, start=1):
        name = f"who-holds-what-{number}"
        title = f"Who holds what · {frame.said.excursion} {view.number}: {view.excursion.title}"
        sheet = Sheet(name, frame, title, frame.said.put(ABOUT), legend, number, len(parts))
        made[f"{name}.svg"] = _draw(sheet, view, shown, lanes, styles, first, count)
    return made


def _pages(lanes: list[Lane], high: float) -> list[list[Lane]]:
    """Lanes in as many sheets as their height takes; one higher than a sheet is cut."""
    pages: list[list[Lane]] = [[]]
    used = 0.0
    for lane in lanes:
        rest = lane.lines
        while True:
            room = int((high - used - PAD) / BAR)
            if used and len(rest) > room and len(rest) * BAR + PAD <= high:
                room = 0
            if room < 1:
                pages.append([])
                used = 0.0
                continue
            pages[-1].append(Lane(lane.thing, rest[:room]))
            used += max(len(rest[:room]), 1) * BAR + PAD
            rest = rest[room:]
            if not rest:
                break
    return pages


# --- what is where ---------------------------------------------------------------------------------------------------


def _lanes(world: World, view: View, columns: list[Column], width: float) -> list[Lane]:
    """Rows: the crew; containers whose content is not always the same; places outside. What always is in a container
    stands in brackets after it."""
    always, changing = _contents(columns)
    bars: dict[Thing, list[Bar]] = {actor: [] for actor in view.own}
    moving = {
        world.variables[change.var].thing
        for step in view.flow.steps
        for change in step.changes
        if change.before != change.after
    }
    for item in world.things:
        if item.sort != "item":
            continue
        open_bars: dict[Spot, Bar] = {}
        for at, column in enumerate(columns):
            answers = column.spots[item] or []
            now = {spot: len(answers) == 1 for answer in answers for spot in answer}
            open_bars = {spot: bar for spot, bar in open_bars.items() if spot in now}
            for spot, sure in now.items():
                row = spot.row
                if spot.on.sort == "item" and row not in changing:
                    continue
                if spot.on.sort == "location" and (at_home(spot.on) or item not in moving):
                    continue
                bar = open_bars.get(spot)
                if bar is None:
                    bar = open_bars[spot] = Bar(item, spot, _words(item, spot, always.get(item, [])), at, at, [])
                    bars.setdefault(row, []).append(bar)
                bar.last = at
                bar.sure.append(sure)
    others = sorted((one for one in bars if one not in view.own), key=lambda one: (one.sort == "location", one.index))
    return [Lane(row, _packed(bars[row], len(columns), width)) for row in [*view.own, *others]]


def _contents(columns: list[Column]) -> tuple[dict[Thing, list[str]], set[Thing]]:
    """(what always is in each container; the containers whose content is not always the same)"""
    always: dict[Thing, list[str]] = {}
    changing: set[Thing] = set()
    for item in columns[0].spots:
        ever = {
            spot.on
            for column in columns
            for answer in column.spots[item] or ()
            for spot in answer
            if spot.on.sort == "item"
        }
        answers = [column.spots[item] for column in columns]
        if ever and all(answer == answers[0] and answer is not None and len(answer) == 1 for answer in answers):
            for holder in ever:
                always.setdefault(holder, []).append(item.title)
        else:
            changing |= ever
    return {one: words for one, words in always.items() if one not in changing}, changing


def _words(item: Thing, spot: Spot, contents: list[str]) -> str:
    """``Rest 1 · hand``, ``Seal bag · clip [New seal]``, ``Lamp · Lamp seat, bolts``, ``Reel · to Porch``"""
    parts = [spot.on.title] if spot.on.sort == "location" and spot.on.near else []
    parts += [spot.manner] if spot.manner else []
    if spot.others:
        parts.append(f"{'with' if spot.manner else 'to'} {' and '.join(one.title for one in spot.others)}")
    text = item.title + (f" · {', '.join(parts)}" if parts else "")
    return f"{text} [{', '.join(contents)}]" if contents else text


def _packed(bars: list[Bar], columns: int, width: float) -> list[list[Bar]]:
    """Bars in as few lines as will do, the longest at the top; words may stand in what is free after a bar."""
    lines: list[list[Bar]] = []
    ends: list[float] = []
    for bar in sorted(bars, key=lambda one: (one.first, -one.last, one.thing.index)):
        start, end = bar.first * width, (bar.last + 1) * width
        at = next((n for n, taken in enumerate(ends) if taken <= start + 0.01), None)
        if at is None:
            lines.append([])
            ends.append(0.0)
            at = len(lines) - 1
        lines[at].append(bar)
        words = text_width(_shown(bar), SMALL)
        beside = words > end - start - 12 and bar.last + 1 < columns
        ends[at] = min(end + min(words, 2 * width) + 6, columns * width) if beside else end
    return lines or [[]]


def _shown(bar: Bar) -> str:
    return bar.words if bar.sure[0] else f"? {bar.words}"


# --- drawing ---------------------------------------------------------------------------------------------------------


def _draw(
    sheet: Sheet,
    view: View,
    columns: list[Column],
    lanes: list[Lane],
    styles: dict[Thing, ActorStyle],
    first: int,
    count: int,
) -> str:
    svg, left = sheet.svg, sheet.left + NAME
    width = (sheet.right - left) / len(columns)
    y = _column_heads(sheet, view, columns, styles, width)
    top = y
    for number, lane in enumerate(lanes):
        height = max(len(lane.lines), 1) * BAR + PAD
        if number % 2 == 0:
            svg.rect(sheet.left, y, sheet.right - sheet.left, height, "f-wash")
        y += height
    grid = [way([(left + at * width, top - 3), (left + at * width, y)]) for at in range(len(columns) + 1)]
    svg.path("".join(grid), "n s-hair", 0.5)
    y = top
    for lane in lanes:
        height = max(len(lane.lines), 1) * BAR + PAD
        label = f"{lane.thing.title}: what it has"
        with svg.group("lane", label, data={"data-thing": lane.thing.name}):
            x = sheet.left + 4
            if lane.thing in styles:
                svg.badge(x + 5, y + 7.5, styles[lane.thing], 4.6)
            elif lane.thing.sort == "location":
                place_sign(svg, x + 5, y + 7.5)
            else:
                container_sign(svg, x + 5, y + 7.5)
            x += 14
            for n, words in enumerate(wrap_text(lane.thing.title, TEXT, left - x - 4, min(2, len(lane.lines)), True)):
                svg.text(x, y + 10 + n * TEXT * LEAD, words, TEXT, "f-ink", True)
            for n, line in enumerate(lane.lines):
                for at, bar in enumerate(line):
                    limit = line[at + 1].first * width if at + 1 < len(line) else len(columns) * width
                    _bar(svg, lane, bar, columns, styles, left, width, y + PAD / 2 + 1 + n * BAR, left + limit)
        y += height
    if not lanes:
        svg.text(left, y + 10, "Nothing is outside or on anybody.", TEXT)
        y += 14
    notes = [f"columns {first + 1} to {first + len(columns)} of {count}"] if len(columns) < count else []
    notes += [f"may be anywhere: {name}" for name in _unknown(columns)]
    if notes:
        svg.text(sheet.left, y + 9, "; ".join(notes), SMALL, "f-soft", width=sheet.right - sheet.left)
        y += 12
    return sheet.finish(y)


def _unknown(columns: list[Column]) -> list[str]:
    """Things whose way is not known or not decided at some of the columns."""
    return sorted({item.title for column in columns for item, answers in column.spots.items() if answers is None})


def _column_heads(
    sheet: Sheet, view: View, columns: list[Column], styles: dict[Thing, ActorStyle], width: float
) -> float:
    svg, left, y = sheet.svg, sheet.left + NAME, sheet.top
    lines_of = [
        wrap_text(spoken(column.call) if column.call is not None else column.title, SMALL, width - 5, 3, True)
        for column in columns
    ]
    most = max(map(len, lines_of), default=1)
    svg.line(sheet.left, y + 2, sheet.right, y + 2, "s-ink", 1.6)
    for at, (column, lines) in enumerate(zip(columns, lines_of, strict=True)):
        x = left + at * width
        if column.call is None or column.step is None:
            svg.line(x + 2, y - 3, x + 2, y + 14, "s-ink", 2.4)
            svg.lines(x + 6, y + 15 + SMALL * LEAD, lines, SMALL, "f-ink", True)
            continue
        times, step = view.times, column.step
        assert times is not None
        when = clock(times.end[step.index], times.end_open[step.index])
        data = step_link(view, step)
        label = f'{caller(column.call)} calls "{spoken(column.call)}" at {when}'
        with svg.group(
            "call", label, f"c-{column.call.task.name}-{column.call.name}", data, f"{label} ({data['data-place']})"
        ):
            svg.path(way([(x + 2, y + 2), (x + 2, y + 6)]), "n s-ink", 1)
            svg.circle(x + 2, y + 2, 2, "f-paper s-ink", 1)
            doer = step.cast[0] if step.cast else None
            if doer is not None:
                speaker = doer.runner or doer
                svg.badge(x + 8, y + 11, styles[speaker], 4.6)
            svg.text(x + 16, y + 13.5, when, SMALL, "f-soft", width=width - 16)
            svg.lines(x + 4, y + 15 + SMALL * LEAD, lines, SMALL, "f-ink", True)
    return y + 15 + most * SMALL * LEAD + 6


def _bar(
    svg: Svg,
    lane: Lane,
    bar: Bar,
    columns: list[Column],
    styles: dict[Thing, ActorStyle],
    left: float,
    width: float,
    y: float,
    limit: float,
) -> None:
    x, end = left + bar.first * width + 1.5, left + (bar.last + 1) * width - 1.5
    style = styles.get(lane.thing)
    sure = "" if all(bar.sure) else " at some calls perhaps only"
    label = f"{lane.thing.title} has {bar.words}{sure}: {columns[bar.first].title} to {columns[bar.last].title}"
    with svg.group("held", label, data={"data-thing": bar.thing.name}):
        _pieces(svg, bar, x, end, left + bar.first * width, width, y)
        if style is not None:
            svg.rect(x + 0.5, y + 0.5, 4.5, BAR - GAP - 1, "", fill=svg.pattern(style))
        words, base = _shown(bar), y + SMALL * 0.98 + 0.3
        if text_width(words, SMALL) <= end - x - 9:
            svg.text(x + 7, base, words, SMALL)
        elif limit - end > width * 0.6:
            svg.text(end + 3, base, words, SMALL, width=limit - end - 4)
        else:
            svg.text(x + 7, base, words, SMALL, width=end - x - 8)


def _pieces(svg: Svg, bar: Bar, x: float, end: float, first: float, width: float, y: float) -> None:
    """The bar itself: a full outline where it is sure, a broken one where it is not."""
    low = y + BAR - GAP
    svg.rect(x, y, end - x, BAR - GAP, "f-tag")
    at = 0
    while at < len(bar.sure):
        sure, stop = bar.sure[at], at
        while stop < len(bar.sure) and bar.sure[stop] == sure:
            stop += 1
        x1, x2 = max(first + at * width, x), min(first + stop * width, end)
        d = way([(x1, y), (x2, y)]) + way([(x1, low), (x2, low)])
        d += way([(x, y), (x, low)]) if at == 0 else ""
        d += way([(end, y), (end, low)]) if stop == len(bar.sure) else ""
        svg.path(d, "n s-ink" if sure else "n s-soft", 1, "" if sure else "2.5 2")
        at = stop


def _legend(styles: dict[Thing, ActorStyle]) -> list[tuple[Sign, str]]:

    def sure(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 13, y - 4, 26, 8, "f-tag s-ink", 2, stroke_width=0.7)

    def maybe(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 13, y - 4, 26, 8, "f-paper s-soft", 2, stroke_width=0.8, stroke_dasharray="2.5 2")

    def called(svg: Svg, x: float, y: float) -> None:
        svg.line(x - 12, y, x + 12, y, "s-ink", 1.6)
        svg.circle(x, y, 2, "f-paper s-ink", 1)

    return [
        *badge_legend(styles),
        (container_sign, "a container"),
        (place_sign, "a place"),
        (sure, "surely there · how it is held"),
        (maybe, "? maybe there: the order leaves it open"),
        (called, "a call: who speaks, when at the earliest"),
        (_brackets, "always in or on it"),
    ]


def _brackets(svg: Svg, x: float, y: float) -> None:
    svg.text(x, y + 2.5, "[ ]", SMALL, "f-ink", False, "middle")
