"""The clock of a crew timeline: the whole excursion against its limit, the ruler with day and night, the three-point
spread of the end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from jackstay.model.records import Thing
from jackstay.outputs.clock import clock, total
from jackstay.outputs.crewline_axis import TICKS, Axis
from jackstay.outputs.crewline_key import Strip
from jackstay.outputs.crewline_lane import Frame
from jackstay.outputs.lettering import text_width
from jackstay.outputs.look import SMALL, STRONG
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import View
from jackstay.outputs.wording import caller, spoken
from jackstay.timing.events import EventGraph
from jackstay.timing.passes import earliest
from jackstay.timing.records import Times

ZERO = Fraction(0)
MINUTE = 60
OVERVIEW = 54.0
BAND = 10.0
ROW = 9.0


@dataclass(frozen=True, slots=True)
class Ends:
    """When it is over if every step takes its least, and its most. actors: the same for each. Seconds; None: the order
    is circular. given: whether any step has three numbers."""

    least: Fraction
    most: Fraction
    actors: dict[Thing, tuple[Fraction, Fraction]]
    given: bool


def ends_of(view: View) -> Ends | None:
    graph = EventGraph(view.flow)
    quick, slow = earliest(graph, graph.least), earliest(graph, graph.most)
    if quick is None or slow is None:
        return None
    actors = {
        actor: (
            graph.seconds(max(quick.end[step.index] for step in steps)),
            graph.seconds(max(slow.end[step.index] for step in steps)),
        )
        for actor, steps in view.own.items()
        if steps
    }
    given = any(triple is not None and not triple.certain for triple in graph.triples)
    return Ends(graph.seconds(max(quick.end, default=0)), graph.seconds(max(slow.end, default=0)), actors, given)


def nights(view: View, until: Fraction) -> Iterator[tuple[Fraction, Fraction]]:
    """Stretches of darkness that begin before a moment."""
    light = view.excursion.light
    if light is None or light.dark.value <= 0:
        return
    at = light.first.value
    while at < until:
        yield at, at + light.dark.value
        if light.every.value <= light.dark.value:
            return
        at += light.every.value


def limit_of(view: View, times: Times) -> tuple[Fraction | None, Fraction]:
    """(when the limit is over, when the reserve is touched), seconds from the excursion's start."""
    excursion = view.excursion
    if excursion.limit is None:
        return None, ZERO
    last = times.clock_zero + excursion.limit.value
    reserve = excursion.reserve.value if excursion.reserve is not None else ZERO
    return last, last - reserve


class Overview:
    """The whole excursion on one line, to scale, up to its limit or its latest end."""

    def __init__(
        self, view: View, times: Times, ends: Ends | None, left: float, right: float, latest: Fraction | None = None
    ) -> None:
        """latest: where the line ends, if not at its own limit or latest end."""
        self.view, self.times, self.ends = view, times, ends
        self.left, self.right = left, right
        self.limit, self.touched = limit_of(view, times)
        self.latest = latest or max(times.makespan, self.limit or ZERO, ends.most if ends is not None else ZERO)
        self.scale = (right - left) / (float(self.latest) * 1.005) if self.latest else 0.0

    def x(self, at: Fraction) -> float:
        return self.left + float(at) * self.scale

    def draw(
        self,
        svg: Svg,
        gutter: float,
        y: float,
        window: tuple[Fraction, Fraction] | None,
        word: str,
        name: Sequence[str] = (),
    ) -> float:
        """window: the stretch that this sheet shows; None: all of it. word: what an excursion is called. name: what
        stands beside it, in lines."""
        times = self.times
        base = y + 24
        name = name or ("the whole", word)
        with svg.group("overview", f"The whole {word} against its limit"):
            svg.lines(gutter, base - 2 - 4 * (len(name) > 2), name, STRONG, "f-ink", True)
            self._marks(svg, y, base)
            if self.limit is not None and self.touched < self.limit:
                a, b = self.x(self.touched), self.x(self.limit)
                svg.rect(a, base - 5, b - a, 10, "s-loud", stroke_width=0.7, fill=svg.hatch())
            svg.line(self.left, base, self.x(times.makespan), base, "s-ink", 2.4)
            svg.line(self.x(times.makespan), base, self.right, base, "s-soft", 0.7, "1 2")
            if self.ends is not None and self.ends.given:
                a, b = self.x(self.ends.least), self.x(self.ends.most)
                svg.rect(a, base - 2.6, b - a, 5.2, "f-paper s-ink", stroke_width=0.9)
                for x in (a, b):
                    svg.line(x, base - 5, x, base + 5, "s-ink", 1.3)
            diamond(svg, self.x(times.makespan), base)
            svg.line(self.left, base - 6, self.left, base + 6, "s-ink", 2.4)
            if self.limit is not None:
                svg.line(self.x(self.limit), base - 9, self.x(self.limit), base + 9, "s-loud", 3)
            if window is not None:
                a, b = self.x(window[0]), self.x(window[1])
                svg.path(way([(a, base + 4), (a, base + 9.5), (b, base + 9.5), (b, base + 4)]), "n s-ink", 1.6)
            self._night(svg, base + 12)
        return y + OVERVIEW

    def _marks(self, svg: Svg, y: float, base: float) -> None:
        """Words above the line, each with a stroke down to its moment; in two rows."""
        times, excursion = self.times, self.view.excursion
        rows = [Strip(), Strip()]
        if self.limit is not None:
            kept = f"reserve from {clock(self.touched)}, " if self.touched < self.limit else ""
            words = f"{kept}limit {clock(self.limit)}"
            self._mark(svg, rows, (1,), self.limit, words, "loud", base)
        self._mark(svg, rows, (0, 1), times.makespan, self._end_words(), "ink", base)
        if excursion.clock:
            mark = excursion.clock_starts
            said = f" ({caller(mark)}: {spoken(mark)})" if mark is not None else ""
            words = f"{excursion.clock} counts from {clock(times.clock_zero)}{said}"
            self._mark(svg, rows, (0, 1), times.clock_zero, words, "ink", base)

    def _mark(
        self, svg: Svg, rows: list[Strip], allowed: tuple[int, ...], at: Fraction, words: str, colour: str, base: float
    ) -> None:
        x = self.x(at)
        wide = text_width(words, SMALL) + 6
        for number in allowed:
            inside = (
                one for one in ((x, x + wide), (x - wide, x)) if one[0] >= self.left - 1 and one[1] <= self.right + 3
            )
            spot = next((one for one in inside if rows[number].free(*one)), None)
            if spot is None or (number and not rows[0].free(x - 1, x + 1)):
                continue
            rows[number].take(*spot)
            if number:
                rows[0].take(x - 2, x + 2)
            top = base - 9 - 8.6 * number
            svg.line(x, top - 5.5, x, base, f"s-{colour}", 0.8)
            right = spot[0] == x
            svg.text(x + 2.5 if right else x - 2.5, top, words, SMALL, f"f-{colour}", anchor="" if right else "end")
            return
        # No room beside its own moment: wherever there is some, without a stroke.
        for number, row in enumerate(rows):
            place = row.first(self.left, self.right, wide)
            if place is not None:
                row.take(place, place + wide)
                svg.text(place + 2.5, base - 9 - 8.6 * number, words, SMALL, f"f-{colour}")
                return

    def _end_words(self) -> str:
        times, ends = self.times, self.ends
        words = f"ends {total(times.makespan, times.makespan_open)}"
        if ends is None or not ends.given:
            return words
        return f"{words}; every step quick: {total(ends.least)}, every step slow: {total(ends.most)}"

    def _night(self, svg: Svg, y: float) -> None:
        for since, until in nights(self.view, self.latest):
            a, b = self.x(since), min(self.x(until), self.right)
            svg.rect(a, y, b - a, 6, "f-dusk s-hair", stroke_width=0.5)
        if self.view.excursion.light is not None:
            svg.rect(self.left, y, self.right - self.left, 6, "n s-hair", stroke_width=0.5)
        minutes = next((one for one in TICKS if one * MINUTE * self.scale >= 46), TICKS[-1]) if self.scale else 60
        at = ZERO
        while at <= self.latest:
            svg.line(self.x(at), y, self.x(at), y + 8, "s-soft", 0.7)
            svg.text(self.x(at) + 2, y + 13.2, clock(at), SMALL, "f-soft")
            if not self.scale:
                break
            at += minutes * MINUTE
            if self.x(at) + 24 > self.right:
                break


def diamond(svg: Svg, x: float, y: float) -> None:
    svg.path(way([(x, y - 4.2), (x + 3.6, y), (x, y + 4.2), (x - 3.6, y)], True), "f-ink s-ink", 0.6)


# --- the ruler -------------------------------------------------------------------------------------------------------


def ruler_height(view: View, times: Times) -> float:
    return BAND * (view.excursion.light is not None) + 12 + ROW * _own_clock(view, times) + 3


def _own_clock(view: View, times: Times) -> bool:
    return bool(times.clock_zero) and (view.excursion.clock is not None or view.excursion.limit is not None)


def draw_ruler(svg: Svg, frame: Frame, axis: Axis, gutter: float, y: float) -> float:
    """Day and night, hours and minutes from the start, and the excursion's own clock."""
    view, times = frame.view, frame.times
    with svg.group("ruler", "The clock"):
        if view.excursion.light is not None:
            svg.text(gutter, y + 7.4, "day and night", SMALL, "f-soft")
            _band(svg, frame, axis, y)
            y += BAND
        svg.text(gutter, y + 9.6, "from the start, h:mm", SMALL, "f-soft")
        end = min(frame.x(axis.right(times.makespan)), frame.right)
        if end > frame.left:
            svg.line(frame.left, y, end, y, "s-ink", 1.2)
        for left, right in axis.widened():
            if frame.shows(left, right):
                a, b = frame.clip(left, right)
                svg.rect(a, y - 1.6, b - a, 3.2, "", fill=svg.hatch())
        _ticks(svg, frame, axis, y, Fraction(0), frame.right)
        y += 12
        if _own_clock(view, times):
            svg.text(gutter, y + 6.4, view.excursion.clock or "the limit's clock", SMALL, "f-soft", width=100)
            _ticks(svg, frame, axis, y - 3.2, times.clock_zero, frame.right)
            y += ROW
    return y + 3


def _ticks(svg: Svg, frame: Frame, axis: Axis, y: float, zero: Fraction, right: float) -> None:
    for at in axis.ticks(40, zero):
        if not frame.begins(axis.left(at)) and not (at == 0 and frame.begins(0)):
            continue
        x = frame.x(axis.left(at))
        words = clock(at - zero)
        if x + 2.5 + text_width(words, SMALL) > right + 2:
            continue
        svg.line(x, y, x, y + (4 if zero == 0 else 9.5), "s-ink" if zero == 0 else "s-soft", 0.8)
        svg.text(x + 2.5, y + 9.6, words, SMALL, "f-ink" if zero == 0 else "f-soft")


def _band(svg: Svg, frame: Frame, axis: Axis, y: float) -> None:
    times = frame.times
    end = axis.right(times.makespan)
    _, whole = frame.clip(frame.start, end)
    if whole > frame.left:
        svg.rect(frame.left, y, whole - frame.left, BAND - 1, "f-paper s-hair", stroke_width=0.6)
    at = Fraction(0)
    for since, until in [*nights(frame.view, times.makespan), (times.makespan, times.makespan)]:
        _band_words(svg, frame, axis, y, at, since, "light")
        left, right = axis.left(since), min(axis.left(until), end)
        if right > left and frame.shows(left, right):
            a, b = frame.clip(left, right)
            svg.rect(a, y, b - a, BAND - 1, "f-dusk s-soft", stroke_width=0.6)
            wide = text_width(_band_text(since, until, "dark", b - a), SMALL) + 3
            for x in _every(a + 3 + wide, b - 1.5, 6):
                svg.circle(x, y + 4.5, 0.6, "f-ink s-ink", 0.1)
            _band_words(svg, frame, axis, y, since, until, "dark")
        at = until


def _every(start: float, end: float, apart: float) -> Iterator[float]:
    while start < end:
        yield start
        start += apart


def _band_words(svg: Svg, frame: Frame, axis: Axis, y: float, since: Fraction, until: Fraction, word: str) -> None:
    left, right = axis.left(since), axis.left(until)
    if not frame.shows(left, right) or right <= left:
        return
    a, b = frame.clip(left, right)
    words = _band_text(since, until, word, b - a)
    svg.text(a + 3, y + 6.9, words, SMALL, "f-ink" if word == "dark" else "f-soft")


def _band_text(since: Fraction, until: Fraction, word: str, room: float) -> str:
    words = f"{word} {clock(since)} to {clock(until)}" if word == "dark" else word
    return next((one for one in (words, word) if text_width(one, SMALL) + 6 <= room), "")
