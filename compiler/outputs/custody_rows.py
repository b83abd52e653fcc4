"""One thing's line on a custody sheet: posts where excursions begin, tags where it changes hands, and their words."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from jackstay.model.records import Thing
from jackstay.outputs.clock import clock
from jackstay.outputs.custody import Stay
from jackstay.outputs.lettering import fold, text_width, wrap_text
from jackstay.outputs.look import LEAD, SMALL, TEXT
from jackstay.outputs.situation import is_inside
from jackstay.outputs.wording import label, labels, source_place, step_text
from jackstay.outputs.words import said

NAME = 112.0  # the column of names
POST, STUB, TAG, END, GAP = 46.0, 84.0, 92.0, 12.0, 5.0  # least widths
TAG_MOST, STUB_MOST = 150.0, 150.0
SPINE, PAD, SIGN_WIDE = 6.0, 4.0, 12.0
LINE = SMALL * LEAD
LANE = 10.0
BETWEEN = 8.0  # between the broken lines of one thing


@dataclass(slots=True)
class Cell:
    """sort: ``post`` (an excursion begins and nothing is new), ``stub`` (it begins, and how the thing then hangs),
    ``tag``, ``end``. x and width once it is laid out."""

    sort: str
    stay: Stay | None
    width: float
    x: float = 0.0


@dataclass(slots=True)
class Row:
    """sections: the thing's stays by excursion. lanes: what travels in it. lines: its cells, laid out."""

    thing: Thing
    sections: list[list[Stay]]
    lanes: list[Thing]
    group: str
    lines: list[list[Cell]] = field(default_factory=list)


def lay_out(row: Row, left: float, width: float) -> None:
    """Puts the row's cells on as few lines as will do; one line is stretched as far as its tags may grow."""
    cells: list[Cell] = []
    for section in row.sections:
        if not section:
            continue
        first = section[0]
        still = first.kept and len(first.places) < 2
        cells.append(Cell("post" if still else "stub", first, POST if still else STUB))
        cells += [Cell("tag", stay, TAG) for stay in section[1:]]
    cells.append(Cell("end", None, END))
    free = width - sum(cell.width + GAP for cell in cells)
    if free >= 0:
        tags = [cell for cell in cells if cell.sort == "tag"]
        stubs = [cell for cell in cells if cell.sort == "stub"]
        free = _grow(tags, free, TAG_MOST)
        _grow(stubs, free, STUB_MOST if tags else width)
    row.lines = [[]]
    x = left
    for cell in cells:
        if row.lines[-1] and x + cell.width + GAP > left + width + 0.01:
            row.lines.append([])
            x = left + 24
        cell.x = x
        row.lines[-1].append(cell)
        x += cell.width + GAP


def _grow(cells: list[Cell], free: float, most: float) -> float:
    """Shares what is free among the cells; gives what is left."""
    if not cells:
        return free
    each = min(free / len(cells), most - cells[0].width)
    for cell in cells:
        cell.width += each
    return free - each * len(cells)


def row_height(row: Row) -> float:
    tops = sum(line_height(line) + BETWEEN for line in row.lines)
    return max(tops, name_height(row)) + len(row.lanes) * LANE + 3


def name_height(row: Row) -> float:
    return len(wrap_text(row.thing.title, TEXT, NAME - 8, 3, True)) * TEXT * LEAD + LINE + 5


def line_height(line: list[Cell]) -> float:
    return max(cell_height(cell) for cell in line)


def cell_height(cell: Cell) -> float:
    if cell.stay is None:
        return 10.0
    if cell.sort == "tag":
        return 3.5 + (len(holder_lines(cell)) + len(tag_lines(cell))) * LINE + 4
    return (1 + len(stub_lines(cell))) * LINE + 6


def x_of(row: Row, number: int, seconds: Fraction, makespan: Fraction) -> float:
    """Where a time of the numbered excursion falls among the row's own cells; the row stands on one line."""
    anchors: list[tuple[Fraction, float]] = []
    for cell in row.lines[0]:
        if cell.stay is None or cell.stay.view.number > number:
            if anchors:
                anchors.append((max(makespan, anchors[-1][0]), cell.x))
                break
        elif cell.stay.view.number == number:
            times, step = cell.stay.view.times, cell.stay.step
            at = times.start[step.index] if times is not None and step is not None else Fraction(0)
            anchors.append((max(at, anchors[-1][0]) if anchors else at, cell.x))
    for (t1, x1), (t2, x2) in pairwise(anchors):
        if seconds <= t2:
            return x1 + (x2 - x1) * float((seconds - t1) / (t2 - t1)) if t2 > t1 else x2
    return anchors[-1][1]


# --- words -----------------------------------------------------------------------------------------------------------


def holder_words(stay: Stay) -> str:
    """``Wren · hand``, ``Wren + Teal · hand``, ``Porch to Wren``, ``Porch to Wren, Teal · hand``"""
    held, first, second = stay.hangs
    parts: list[str] = []
    if held and len({one.manner for one in held}) == 1:
        manner = f" · {held[0].manner}" if held[0].manner else ""
        parts.append(" + ".join(one.holder.title for one in held) + manner)
    else:
        parts += [f"{one.holder.title} · {one.manner}" for one in held]
    if first is not None or second is not None:
        ends = " to ".join(end.title if end is not None else "a free end" for end in (first, second))
        # what is cut off at the end is never who is on the line
        tied = any(end is not None and end.sort == "actor" for end in (first, second))
        parts.insert(0 if tied else len(parts), ends)
    return ", ".join(parts) or "on nothing"


def place_words(stay: Stay) -> str:
    """Where that is, if the holder does not say so already; a way where it moves meanwhile."""
    places = [" / ".join(near.title for near in at.near) if at.near else at.title for at in stay.places]
    taken = " → ".join(one for i, one in enumerate(places) if i == 0 or places[i - 1] != one)
    direct = {one.holder for one in stay.held} | {stay.hangs[1], stay.hangs[2]}
    who = [one.title for one in stay.who if one not in direct]
    if len(stay.places) == 1 and stay.places[0] in direct and not stay.places[0].near:
        taken = ""
    return ", ".join(part for part in (f"on {' + '.join(who)}" if who else "", taken) if part)


def when_words(stay: Stay) -> str:
    """``0:31``; ``0:31–0:37``: when the step that leads to it begins, and when the one that undoes it is over."""
    times, step = stay.view.times, stay.step
    assert times is not None and step is not None
    words = clock(times.start[step.index], times.start_open[step.index])
    if stay.back is not None:
        words += f"–{clock(times.end[stay.back.index], times.end_open[stay.back.index])}"
    return words


def why_words(stay: Stay, whole: bool = False) -> str:
    """The step that leads to it; who does it, unless that is who has it then (whole: in any case)."""
    step = stay.step
    assert step is not None
    if stay.back is not None:
        return f"for: {step.entry.text or step_text(step)}"
    mark = "> " if step.inserted else ""
    if not whole and step.cast and [step.cast[0]] == stay.who:
        return mark + step_text(step)
    who = labels(step.cast) if whole else fold(labels(step.cast[:1]), SMALL, TAG / 2)
    return f"{mark}{who}: {step_text(step)}"


def inside_words(stay: Stay) -> str:
    words = said(stay.view.world)
    inside = {True: words.inside, False: words.outside, None: "nowhere"}[inside_first(stay)]
    return f"{stay.view.number} {inside}"


def inside_first(stay: Stay) -> bool | None:
    """Whether the thing is inside as the stay's excursion begins."""
    return is_inside(stay.view.flow.start, stay.thing)


def signs_of(stay: Stay) -> list[Thing]:
    """What is shown before a tag's words: the actors who hold it, else the one thing that does."""
    direct = [one.holder for one in stay.held] or [one for one in stay.hangs[1:] if one is not None]
    return [one for one in direct if one.sort == "actor"][:2] or direct[:1]


def holder_lines(cell: Cell) -> list[str]:
    assert cell.stay is not None
    room = cell.width - SPINE - 2 * PAD
    indent = SIGN_WIDE * len(signs_of(cell.stay))
    return wrap_text(holder_words(cell.stay), SMALL, room - indent, 2, True)


def tag_lines(cell: Cell) -> list[tuple[str, str]]:
    """(words, class) of a tag below its holder."""
    stay = cell.stay
    assert stay is not None and stay.step is not None
    room = cell.width - SPINE - 2 * PAD
    place = fold(place_words(stay), SMALL, room)
    lines = [(place, "f-soft")] if place else []
    when, at = when_words(stay), source_place(stay.step.entry.at)
    if text_width(f"{when}  {at}", SMALL) <= room:
        lines.append((f"{when}  {at}", "f-ink"))
    else:
        lines += [(fold(when, SMALL, room), "f-ink"), (fold(at, SMALL, room), "f-ink")]
    return lines + [(words, "f-ink") for words in wrap_text(why_words(stay), SMALL, room, 3)]


def stub_lines(cell: Cell) -> list[str]:
    stay = cell.stay
    assert stay is not None
    if cell.sort == "post":
        return []
    place = wrap_text(place_words(stay), SMALL, cell.width - 12, 2) if place_words(stay) else []
    return [*wrap_text(holder_words(stay), SMALL, cell.width - 12, 2), *place]


def periods(section: list[Stay], holder: Thing) -> list[tuple[Fraction | None, Fraction | None]]:
    """From when to when (None: the excursion's start, its end) the thing hangs on the holder."""
    found: list[tuple[Fraction | None, Fraction | None]] = []
    start: Fraction | None = None
    within = False
    for stay in section:
        times = stay.view.times
        assert times is not None
        now = any(one.holder is holder for one in stay.held)
        at = times.start[stay.step.index] if stay.step is not None else None
        if within and not now:
            found.append((start, at))
        if stay.back is not None:  # then it is again where it was
            start = times.end[stay.back.index] if within else start
            if now:
                found.append((at, times.end[stay.back.index]))
            continue
        if now and not within:
            start = at
        within = now
    return [*found, (start, None)] if within else found


def period_words(section: list[Stay], holder: Thing) -> str:
    """``0:00–1:52``, by the clock; ``–`` alone for all the time."""
    words = []
    for start, stop in periods(section, holder):
        words.append(f"{clock(start) if start is not None else ''}–{clock(stop) if stop is not None else ''}")
    return ", ".join(words)


def thing_words(thing: Thing) -> str:
    return f"{thing.name} : {thing.kind.name}" if label(thing) != thing.title else thing.kind.name
