"""One sheet of a picture: its head, the legend, and the safety words at its foot. The height follows what is on it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from jackstay.model.records import Thing
from jackstay.outputs.frame import Frame
from jackstay.outputs.lettering import fold, text_width, wrap_text
from jackstay.outputs.look import A3_HEIGHT, A3_WIDTH, HEAD, LEAD, MARGIN, SMALL, STRONG, TEXT, TITLE, ActorStyle
from jackstay.outputs.svg import Svg, way

# A sign drawn with its middle at x, y; it is at most SIGN wide and a line of text high.
Sign = Callable[[Svg, float, float], None]
SIGN = 26.0
GAP = 16.0


class Sheet:
    """svg: to draw on, between ``left`` and ``right``, from ``top`` down to at most ``bottom``.

    legend: (sign, words) pairs, printed above the safety words. number, of: of several sheets of one picture."""

    def __init__(
        self,
        name: str,
        frame: Frame,
        title: str,
        about: str,
        legend: Sequence[tuple[Sign, str]] = (),
        number: int = 1,
        of: int = 1,
        width: float = A3_WIDTH,
    ) -> None:
        sheets = f", sheet {number} of {of}" if of > 1 else ""
        self.svg = Svg(name, f"{frame.title}: {title}{sheets}", about)
        self.frame = frame
        self.width = width
        self.left, self.right = MARGIN, width - MARGIN
        self.legend = _flow(legend, self.right - self.left - 2 * GAP)
        self.foot = [line for words in frame.safety for line in wrap_text(words, SMALL, self.right - self.left)]
        self.foot_height = len(self.legend) * 13.5 + (10 if legend else 0) + len(self.foot) * SMALL * LEAD + 12
        self.bottom = A3_HEIGHT - MARGIN * 0.7 - self.foot_height
        self.top = self._head(title, about, sheets.removeprefix(", "))

    def _head(self, title: str, about: str, sheets: str) -> float:
        """A tag clipped to a line between two posts, with what the sheet is; beside it the plan, on a smaller tag."""
        svg, left, right, y = self.svg, self.left, self.right, 20.0
        if self.frame.unchecked:
            words = fold(self.frame.warning, HEAD, right - left - 16, True)
            with svg.box("warning"):
                svg.rect(left, 8, right - left, 20, "f-paper s-loud", 2, stroke_width=2.2)
                svg.text(left + 8, 22, words, HEAD, "f-loud", True)
            y += 26
        plan = f"plan {self.frame.identity}" + (f" · {sheets}" if sheets else "")
        side = max(text_width(plan, STRONG, True), text_width(self.frame.tally, SMALL)) + 22
        side = min(side, (right - left) * 0.5)
        room = right - left - side - 60
        shown = fold(title, TITLE, room - 34, True)
        wide = text_width(shown, TITLE, True) + 34
        svg.line(left, y, right, y, "s-ink", 1.8)
        for x in (left, right):
            svg.line(x, y - 8, x, y + 34, "s-ink", 3.2)
        with svg.box("title"):
            _tag(svg, left + 20, y, wide, 27)
            svg.text(left + 20 + 24, y + 20, shown, TITLE, "f-ink", True)
        with svg.box("plan"):
            _tag(svg, right - side - 14, y, side, 27)
            svg.text(right - side - 14 + 18, y + 12, plan, STRONG, "f-ink", True, width=side - 22)
            svg.text(right - side - 14 + 18, y + 22.5, self.frame.tally, SMALL, "f-soft", width=side - 22)
        y += 27 + 15
        svg.text(left + 20, y, self.frame.title, HEAD, "f-ink", True, width=(right - left) * 0.4)
        start = left + 20 + text_width(fold(self.frame.title, HEAD, (right - left) * 0.4, True), HEAD, True) + 12
        lines = wrap_text(about, TEXT, right - start - 8)
        return svg.lines(start, y, lines, TEXT, "f-soft") - TEXT * LEAD + 14

    def finish(self, y: float) -> str:
        """The sheet's text, with legend and foot below y."""
        svg = self.svg
        y += 8
        if self.legend:
            height = len(self.legend) * 13.5 + 4
            with svg.box("legend", "Legend"):
                svg.rect(self.left, y, self.right - self.left, height, "f-wash", 4)
                for row in self.legend:
                    y += 13.5
                    for x, sign, words in row:
                        sign(svg, self.left + GAP + x + SIGN / 2, y - 4.5)
                        svg.text(self.left + GAP + x + SIGN + 5, y - 2, words, SMALL, "f-ink")
            y += 8
        y += SMALL * LEAD + 2
        y = svg.lines(self.left, y, self.foot, SMALL, "f-soft") - SMALL * LEAD
        return svg.finish(self.width, y + MARGIN * 0.5)


def _flow(legend: Sequence[tuple[Sign, str]], width: float) -> list[list[tuple[float, Sign, str]]]:
    """Signs and words in rows, each with its x; columns line up where that costs no row."""
    rows: list[list[tuple[float, Sign, str]]] = []
    x = width + 1
    for sign, words in legend:
        words = fold(words, SMALL, width - SIGN - 5)
        need = SIGN + 5 + text_width(words, SMALL)
        if x + need > width:
            rows.append([])
            x = 0
        rows[-1].append((x, sign, words))
        x += need + GAP
    return rows


def _tag(svg: Svg, x: float, y: float, width: float, height: float) -> None:
    """A tag that hangs from a line at y: its near corners are cut, a hole shows the clip."""
    cut = 7.0
    points = [(x + cut, y), (x + width, y), (x + width, y + height), (x + cut, y + height)]
    points += [(x, y + height - cut), (x, y + cut)]
    svg.path(way(points, True), "f-tag s-ink", 1.1)
    svg.circle(x + 9, y + height / 2, 2.3, "f-paper s-ink", 1)


def badge_legend(styles: dict[Thing, ActorStyle]) -> list[tuple[Sign, str]]:
    """Each actor's badge and line, with its name."""

    def sign(style: ActorStyle) -> Sign:
        def draw(svg: Svg, x: float, y: float) -> None:
            svg.line(x - 13, y, x + 13, y, f"l{style.hue} n", 1.8, style.dash)
            svg.badge(x, y, style, 4.6)

        return draw

    return [(sign(style), actor.title) for actor, style in styles.items()]
