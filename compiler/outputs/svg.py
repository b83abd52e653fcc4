"""A small deterministic writer of SVG. Numbers have at most two decimals; elements stand in the order given.

A text inside a ``box`` group lies within that group's first shape; `tests/outputs/geometry.py` holds the drawings to
it. Lengths are points (1/72 inch): the type sizes of `look` are those on paper."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager

from jackstay.outputs.lettering import fold, text_width
from jackstay.outputs.look import FACES, LEAD, SMALL, TEXT, ActorStyle, css

Attributes = Mapping[str, str | float]
MM = 25.4 / 72
_NONE: dict[str, str] = {}
_NOT_XML = re.compile("[\x00-\x1f\ud800-\udfff\ufffe\uffff]")
_SPECIAL = re.compile('[&<>"]')


def num(value: float) -> str:
    """``12``, ``3.25``: at most two decimals, never ``-0``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def escape(text: str) -> str:
    """For texts and attributes; what XML does not allow becomes a space."""
    kept = _NOT_XML.sub(" ", text)
    if not _SPECIAL.search(kept):
        return kept
    return kept.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


class Svg:
    """name: begins every id, so that several drawings can stand in one page."""

    def __init__(self, name: str, title: str, about: str) -> None:
        self.name = name
        self.title = title
        self.about = about
        self.body: list[str] = []
        self.defs: dict[str, str] = {}
        self.depth = 0

    # --- building stones ---------------------------------------------------------------------------------------------

    def add(self, tag: str, attributes: Attributes, inner: str = "") -> None:
        words = "".join(
            f' {key}="{num(value) if isinstance(value, int | float) else escape(value)}"'
            for key, value in attributes.items()
            if value != ""
        )
        self.body.append(f"{' ' * self.depth}<{tag}{words}" + (f">{inner}</{tag}>" if inner else "/>"))

    @contextmanager
    def group(
        self, cls: str = "", label: str = "", id: str = "", data: Mapping[str, str] = _NONE, tip: str = ""
    ) -> Iterator[None]:
        """label: its accessible name. data: ``data-…`` attributes as in `look.step_link`. tip: what is shown when it is
        pointed at; the label, if empty."""
        attributes = {"id": f"{self.name}-{id}" if id else "", "class": cls, **data}
        if label:
            attributes |= {"role": "img", "aria-label": label}
        words = "".join(f' {key}="{escape(value)}"' for key, value in attributes.items() if value)
        self.body.append(f"{' ' * self.depth}<g{words}>")
        self.depth += 1
        if tip or label:
            self.body.append(f"{' ' * self.depth}<title>{escape(tip or label)}</title>")
        yield
        self.depth -= 1
        self.body.append(f"{' ' * self.depth}</g>")

    def box(
        self, cls: str = "", label: str = "", id: str = "", data: Mapping[str, str] = _NONE, tip: str = ""
    ) -> AbstractContextManager[None]:
        """A group whose texts lie within its first shape."""
        return self.group(f"box {cls}".rstrip(), label, id, data, tip)

    # --- shapes ------------------------------------------------------------------------------------------------------

    def rect(
        self, x: float, y: float, width: float, height: float, cls: str, r: float = 0, **more: str | float
    ) -> None:
        self.add("rect", {"class": cls, "x": x, "y": y, "width": width, "height": height, "rx": r or "", **_out(more)})

    def line(self, x1: float, y1: float, x2: float, y2: float, cls: str, width: float = 1, dash: str = "") -> None:
        self.add(
            "line",
            {"class": cls, "x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke-width": width, "stroke-dasharray": dash},
        )

    def path(self, d: str, cls: str, width: float = 1, dash: str = "", **more: str | float) -> None:
        """d: already printed by `num`; see `way`."""
        self.add("path", {"class": cls, "d": d, "stroke-width": width, "stroke-dasharray": dash, **_out(more)})

    def circle(self, x: float, y: float, r: float, cls: str, width: float = 1) -> None:
        self.add("circle", {"class": cls, "cx": x, "cy": y, "r": r, "stroke-width": width})

    def text(
        self,
        x: float,
        y: float,
        words: str,
        size: float = TEXT,
        cls: str = "f-ink",
        bold: bool = False,
        anchor: str = "",
        width: float = 0,
    ) -> float:
        """One line on the baseline y; gives its width. anchor: ``middle`` or ``end``. width: folded to it; the whole is
        then shown when pointed at."""
        shown = fold(words, size, width, bold) if width else words
        if not shown.strip():
            return 0
        inner = escape(shown) + (f"<title>{escape(words)}</title>" if shown != words else "")
        attributes: Attributes = {
            "class": cls,
            "x": x,
            "y": y,
            "font-size": size,
            "font-weight": "bold" if bold else "",
            "text-anchor": anchor,
        }
        self.add("text", attributes, inner)
        return text_width(shown, size, bold)

    def lines(
        self, x: float, y: float, lines: Sequence[str], size: float = TEXT, cls: str = "f-ink", bold: bool = False
    ) -> float:
        """Lines below one another, the first on the baseline y; gives the baseline after the last."""
        for line in lines:
            self.text(x, y, line, size, cls, bold)
            y += size * LEAD
        return y

    # --- signs -------------------------------------------------------------------------------------------------------

    def badge(self, x: float, y: float, style: ActorStyle, r: float = 5.2) -> None:
        """An actor's letter in its shape, centred at x, y. r: at least 4.6, or the letter does not fit."""
        d = shape_path(style.shape, x, y, r)
        self.path(d, f"h{style.hue} s-ink", 0.7)
        for ring in range(style.rings):
            self.path(shape_path(style.shape, x, y, r + 1.6 * (ring + 1)), "n s-ink", 0.6)
        size = max(SMALL, r * (1.08 if style.shape == "triangle" else 1.36))
        low = 0.25 * r if style.shape == "triangle" else 0
        self.text(x, y + size * 0.36 + low, style.letter, size, f"o{style.hue}", True, "middle")

    def pattern(self, style: ActorStyle) -> str:
        """The paint of an actor's fill pattern, for a ``fill`` attribute."""
        id = f"{self.name}-{style.pattern}-{style.hue}"
        self.defs[id] = (
            f'<pattern id="{id}" width="5" height="5" patternUnits="userSpaceOnUse">{_PATTERN[style.pattern]}</pattern>'
        ).replace("HUE", f"l{style.hue}")
        return f"url(#{id})"

    def hatch(self) -> str:
        """The paint of what is not sure."""
        id = f"{self.name}-hatch"
        self.defs[id] = (
            f'<pattern id="{id}" width="4" height="4" patternUnits="userSpaceOnUse"><path class="s-soft n" '
            'd="M-1 1L1 -1M0 4L4 0M3 5L5 3" stroke-width="0.6"/></pattern>'
        )
        return f"url(#{id})"

    def arrow(self, x1: float, y1: float, x2: float, y2: float, cls: str, width: float = 1.4, dash: str = "") -> None:
        """A straight arrow; cls: the class of its line, ``s-ink`` or ``l2``."""
        long = math.hypot(x2 - x1, y2 - y1) or 1
        ux, uy = (x2 - x1) / long, (y2 - y1) / long
        head = min(4.5 + width, long)
        bx, by = x2 - ux * head, y2 - uy * head
        self.line(x1, y1, bx, by, f"{cls} n", width, dash)
        side = head * 0.45
        points = [(x2, y2), (bx - uy * side, by + ux * side), (bx + uy * side, by - ux * side)]
        fill = f"f-{cls[2:]}" if cls.startswith("s-") else f"h{cls[1:]}"
        self.path(way(points, True), f"{cls} {fill}", 0.5)

    # --- the whole ---------------------------------------------------------------------------------------------------

    def finish(self, width: float, height: float) -> str:
        name = self.name
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="js-sheet" role="group" aria-labelledby="{name}-title" '
            f'aria-describedby="{name}-about" width="{num(width * MM)}mm" height="{num(height * MM)}mm" '
            f'viewBox="0 0 {num(width)} {num(height)}" font-family="{FACES}">'
        )
        return "\n".join(
            [
                head,
                f'<title id="{name}-title">{escape(self.title)}</title>',
                f'<desc id="{name}-about">{escape(self.about)}</desc>',
                f"<style>{css()}</style>",
                *(["<defs>", *self.defs.values(), "</defs>"] if self.defs else []),
                f'<rect class="f-paper" width="{num(width)}" height="{num(height)}"/>',
                *self.body,
                "</svg>\n",
            ]
        )


_PATTERN = {
    "dots": '<circle class="HUE n" cx="2.5" cy="2.5" r="0.7" stroke-width="1.4"/>',
    "rising": '<path class="HUE n" d="M-1 1L1 -1M0 5L5 0M4 6L6 4" stroke-width="1.3"/>',
    "falling": '<path class="HUE n" d="M-1 4L1 6M0 0L5 5M4 -1L6 1" stroke-width="1.3"/>',
    "level": '<path class="HUE n" d="M0 2.5L5 2.5" stroke-width="1.7"/>',
    "upright": '<path class="HUE n" d="M2.5 0L2.5 5" stroke-width="1.7"/>',
    "checks": '<path class="HUE n" d="M0 1.25L2.5 1.25M2.5 3.75L5 3.75" stroke-width="2.5"/>',
}


def _out(more: Mapping[str, str | float]) -> dict[str, str | float]:
    """Python names of attributes to their own: ``stroke_width`` is ``stroke-width``."""
    return {key.replace("_", "-"): value for key, value in more.items()}


def way(points: Sequence[tuple[float, float]], closed: bool = False) -> str:
    """The path data of straight lines through the points."""
    return "M" + "L".join(f"{num(x)} {num(y)}" for x, y in points) + ("Z" if closed else "")


def shape_path(shape: str, x: float, y: float, r: float) -> str:
    """A badge's outline about its centre, of about the same area whatever its shape."""
    if shape == "circle":
        return f"M{num(x - r)} {num(y)}a{num(r)} {num(r)} 0 1 0 {num(2 * r)} 0a{num(r)} {num(r)} 0 1 0 {num(-2 * r)} 0Z"
    sides, turn, size = {
        "square": (4, 45, 1.28),
        "triangle": (3, -90, 1.6),
        "hexagon": (6, 0, 1.12),
        "diamond": (4, 0, 1.3),
        "pentagon": (5, -90, 1.18),
    }[shape]
    low = 0.25 * r if shape == "triangle" else 0
    corners = [math.radians(turn + 360 * at / sides) for at in range(sides)]
    return way([(x + r * size * math.cos(a), y + low + r * size * math.sin(a)) for a in corners], True)
