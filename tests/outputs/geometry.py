"""Reads our own drawings back and measures them: every text and shape as a box in points.

`check` holds a drawing to what a reader needs: the page no larger than A3 landscape, no type below 7 points, no text
over another, none outside its box or the page, no shape outside the page, no id twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from xml.etree import ElementTree

from jackstay.outputs.lettering import text_width

NS = "{http://www.w3.org/2000/svg}"
A3 = (1190.56, 841.9)
SLACK = 0.35  # points; half the width of a thin line
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
_SHAPES = {"rect", "line", "path", "circle", "polygon"}


@dataclass(frozen=True)
class Area:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Area", slack: float = SLACK) -> bool:
        return (
            self.left < other.right - slack
            and other.left < self.right - slack
            and self.top < other.bottom - slack
            and other.top < self.bottom - slack
        )

    def holds(self, other: "Area", slack: float = SLACK) -> bool:
        return (
            self.left - slack <= other.left
            and self.top - slack <= other.top
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )


@dataclass(frozen=True)
class Words:
    """text: as shown. box: the first shape of the nearest group of class ``box`` round it, if there is one."""

    text: str
    size: float
    area: Area
    box: Area | None


@dataclass
class Drawing:
    """lines: the straight pieces of what is drawn as a line only, with the classes of the group that each is in."""

    root: ElementTree.Element
    page: Area
    words: list[Words] = field(default_factory=list)
    shapes: list[Area] = field(default_factory=list)
    lines: list[tuple[str, Area]] = field(default_factory=list)

    def groups(self, cls: str) -> list[ElementTree.Element]:
        """All groups of a class, in the order drawn."""
        return [g for g in self.root.iter(f"{NS}g") if cls in g.get("class", "").split()]


def read(svg: str) -> Drawing:
    root = ElementTree.fromstring(svg)
    x, y, width, height = (float(one) for one in root.get("viewBox", "").split())
    drawing = Drawing(root, Area(x, y, x + width, y + height))
    for child in root:
        if child.tag not in (f"{NS}defs", f"{NS}style"):
            _collect(drawing, child, None, "")
    return drawing


def _collect(drawing: Drawing, element: ElementTree.Element, box: Area | None, cls: str) -> None:
    tag = element.tag.removeprefix(NS)
    assert "transform" not in element.attrib, "our drawings move nothing after the fact"
    if tag == "text":
        drawing.words.append(_words(element, box))
    elif tag in _SHAPES:
        drawing.shapes.append(_area(element, tag))
        if tag in ("line", "path") and not re.search(r"(^| )[fh](-|\d)", element.get("class", "")):
            drawing.lines += [(cls, piece) for piece in _pieces(element, tag)]
    elif tag == "g":
        if "box" in element.get("class", "").split():
            shape = next(child for child in element if child.tag.removeprefix(NS) in _SHAPES)
            box = _area(shape, shape.tag.removeprefix(NS))
        for child in element:
            _collect(drawing, child, box, element.get("class", ""))


def _words(element: ElementTree.Element, box: Area | None) -> Words:
    text, size = element.text or "", float(element.get("font-size", "0"))
    width = text_width(text, size, element.get("font-weight") == "bold")
    x, y = float(element.get("x", "0")), float(element.get("y", "0"))
    x -= {"middle": width / 2, "end": width}.get(element.get("text-anchor", ""), 0.0)
    return Words(text, size, Area(x, y - 0.74 * size, x + width, y + 0.21 * size), box)


def _area(element: ElementTree.Element, tag: str) -> Area:
    def n(name: str) -> float:
        return float(element.get(name, "0"))

    if tag == "rect":
        return Area(n("x"), n("y"), n("x") + n("width"), n("y") + n("height"))
    if tag == "circle":
        return Area(n("cx") - n("r"), n("cy") - n("r"), n("cx") + n("r"), n("cy") + n("r"))
    if tag == "line":
        (x1, x2), (y1, y2) = sorted((n("x1"), n("x2"))), sorted((n("y1"), n("y2")))
        return Area(x1, y1, x2, y2)
    points = list(_points(element.get("d", "")))
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Area(min(xs), min(ys), max(xs), max(ys))


def _points(d: str) -> Iterator[tuple[float, float]]:
    """Corners of a path of straight lines; of our circle (``M left middle a r r …``) its two ends."""
    if "a" in d:
        x, y, r = (float(one) for one in _NUMBER.findall(d)[:3])
        yield from ((x, y - r), (x + 2 * r, y + r))
        return
    numbers = [float(one) for one in _NUMBER.findall(d)]
    yield from zip(numbers[::2], numbers[1::2], strict=True)


def _pieces(element: ElementTree.Element, tag: str) -> Iterator[Area]:
    if tag == "line":
        yield _area(element, tag)
        return
    for part in element.get("d", "").split("M")[1:]:
        points = list(_points("M" + part))
        for (x1, y1), (x2, y2) in pairwise(points):
            yield Area(min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2))


def overlaps(drawing: Drawing) -> list[tuple[str, str]]:
    """Pairs of texts that lie over one another."""
    found = []
    active: list[Words] = []
    for one in sorted(drawing.words, key=lambda words: words.area.left):
        active = [other for other in active if other.area.right > one.area.left]
        found += [(other.text, one.text) for other in active if other.area.meets(one.area)]
        active.append(one)
    return found


def struck(drawing: Drawing, cls: str) -> list[str]:
    """Texts that a straight line of a group of the class runs through."""
    lines = [area for group, area in drawing.lines if cls in group.split()]
    return [
        one.text
        for one in drawing.words
        for line in lines
        if line.left < one.area.right - 1
        and one.area.left + 1 < line.right + 0.01
        and line.top < one.area.bottom - 1
        and one.area.top + 1 < line.bottom + 0.01
    ]


def check(svg: str) -> Drawing:
    """Asserts what every drawing has to keep; gives the drawing."""
    drawing = read(svg)
    page = drawing.page
    assert page.right - page.left <= A3[0] and page.bottom - page.top <= A3[1], "larger than A3"
    assert drawing.words
    assert [one.text for one in drawing.words if one.size < 7] == [], "type too small to read"
    assert [one.text for one in drawing.words if not page.holds(one.area)] == [], "text off the page"
    assert [one for one in drawing.shapes if not page.holds(one, 1.5)] == [], "a shape off the page"
    assert [one.text for one in drawing.words if one.box is not None and not one.box.holds(one.area)] == []
    assert overlaps(drawing) == []
    ids = [element.get("id") for element in drawing.root.iter() if element.get("id")]
    assert len(ids) == len(set(ids)), "an id twice"
    return drawing
