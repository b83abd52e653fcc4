"""The order diagram: what comes after what, and why. File names and texts.

``order-campaign.svg`` (with ``-sheet-2`` and so on where one is not enough) has the tasks of every excursion, folded;
``order-EXCURSION-N.svg`` the steps, task by task. Each has the same sheet beside it as DOT text. Where nothing can lay
a graph out the pictures are missing, ``order-not-drawn.txt`` says why, and the texts are cut by estimate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from jackstay.model.records import Thing, World
from jackstay.outputs.dot import panel_dot
from jackstay.outputs.drawing import NOT_DRAWN, Layout, NotDrawn, layouts
from jackstay.outputs.frame import Frame
from jackstay.outputs.look import A3_HEIGHT, A3_WIDTH, MARGIN, ActorStyle, actor_styles
from jackstay.outputs.order_boxes import Box, Panel
from jackstay.outputs.order_draw import PANEL_HEAD, SECTION_HEAD, PanelDrawing, panel_size
from jackstay.outputs.order_graph import graph_of
from jackstay.outputs.order_parts import Room, Spot, cut, estimate, halves, pack
from jackstay.outputs.order_signs import step_legend, task_legend
from jackstay.outputs.order_steps import Steps
from jackstay.outputs.order_tasks import Tasks
from jackstay.outputs.sheet import Sheet, Sign
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import source_place

STEPS = (
    "A box for each written step, a frame for each task. An arrow says that its head comes after its tail, its line "
    "says why. In a box: what it waits for, who does what, the steps that the compiler adds, h:mm at the earliest, how "
    "long, the slack, the source line, what it calls. Shaded lines name what is on other sheets."
)
TASKS = (
    "A box for each task, a section for each excursion. An arrow says that its head comes after its tail, its line "
    "says why; with two heads, the two take turns. In a box: who, from its first step to its last, h:mm at the "
    "earliest and the latest end, how long, the least slack of its steps, and what it waits for."
)


class _Maker(Protocol):
    """`Steps` or `Tasks`"""

    units: list[list[str]]

    def before(self, key: str) -> list[str]: ...
    def box(self, key: str, inside: list[str]) -> Box: ...
    def panel(self, keys: list[str]) -> Panel: ...


class _Note:
    """In place of a section that cannot be drawn."""

    def __init__(self, view: View | None, words: str) -> None:
        self.view = view
        self.words = words
        self.units = [["note"]]

    def before(self, key: str) -> list[str]:
        return []

    def box(self, key: str, inside: list[str]) -> Box:
        box = Box(key, "hole", [], self.words, [], self.words, {})
        box.measure()
        return box

    def panel(self, keys: list[str]) -> Panel:
        head = ("", "")
        if self.view is not None:
            excursion = self.view.excursion
            head = (f"{self.view.number}  {excursion.title}", source_place(excursion.decl))
        return Panel({key: self.box(key, keys) for key in keys}, [], head=head)


@dataclass(slots=True)
class _Part:
    maker: _Maker
    keys: list[str]
    panel: Panel
    prefix: str = ""  # before its keys where the series has several makers
    layout: Layout | None = None


@dataclass(slots=True)
class _Series:
    """The sheets of one diagram. upright: printed on A3 portrait."""

    name: str
    title: str
    about: str
    legend: list[tuple[Sign, str]]
    upright: bool
    makers: list[tuple[str, _Maker]]
    parts: list[_Part] = field(default_factory=list)
    sheets: list[list[Spot]] = field(default_factory=list)

    def sheet(self, frame: Frame, file: str, number: int = 1, of: int = 1) -> Sheet:
        width = A3_HEIGHT if self.upright else A3_WIDTH
        return Sheet(file, frame, self.title, frame.said.put(self.about), self.legend, number, of, width)

    def room(self, frame: Frame) -> Room:
        blank = self.sheet(frame, "blank", 88, 88)
        high = (A3_WIDTH if self.upright else A3_HEIGHT) - MARGIN * 0.7 - blank.foot_height - blank.top
        return Room(blank.right - blank.left, high)

    def files(self) -> list[str]:
        count = len(self.sheets)
        if self.name == "order-campaign":
            return [self.name if number == 1 else f"{self.name}-sheet-{number}" for number in range(1, count + 1)]
        return [f"{self.name}-{number}" for number in range(1, count + 1)]


def order(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """File name -> text."""
    styles = actor_styles(views, world.things)
    series = _series(views, styles)
    made: dict[str, str] = {}
    for one in series:
        _cut(one, one.room(frame))
    try:
        _lay_out(series, frame)
    except NotDrawn as problem:
        made["order-not-drawn.txt"] = NOT_DRAWN.format(why=problem)
    where: dict[str, str] = {}
    for one in series:
        _pack(one, one.room(frame))
        where.update(_places(one))
    taken: set[str] = set()
    for one in series:
        names = one.files()
        while taken & set(names):  # two modules may have an excursion of one name
            one.name += "-x"
            names = one.files()
        taken.update(names)
        for number, (file, spots) in enumerate(zip(names, one.sheets, strict=True), start=1):
            made[f"{file}.dot"] = _text(one, file, number, spots, where, frame)
            if "order-not-drawn.txt" not in made:
                made[f"{file}.svg"] = _picture(one, file, number, spots, where, frame, styles)
    return made


def _series(views: list[View], styles: dict[Thing, ActorStyle]) -> list[_Series]:
    sections: list[tuple[str, _Maker]] = []
    found: list[_Series] = []
    for view in views:
        if view.times is None:
            sections.append((f"{view.number}", _Note(view, NOT_WORKED_OUT)))
            continue
        graph = graph_of(view)
        steps, tasks = Steps(graph), Tasks(graph)
        sections.append((f"{view.number}", tasks if tasks.units else _Note(view, "Nothing is planned here.")))
        if steps.units:
            excursion = view.excursion
            title = f"Order: {excursion.title}"
            mine = {actor: styles[actor] for actor in view.own}
            makers: list[tuple[str, _Maker]] = [(f"{view.number}", steps)]
            found.append(_Series(f"order-{excursion.name}", title, STEPS, step_legend(mine), True, makers))
    if not sections:
        sections.append(("0", _Note(None, "Nothing is planned here.")))
    drawn = {actor: style for actor, style in styles.items() if any(actor in view.own for view in views)}
    title = "Order of the tasks"
    return [_Series("order-campaign", title, TASKS, task_legend(drawn), True, sections), *found]


def _cut(one: _Series, room: Room) -> None:
    head = PANEL_HEAD if one.upright else SECTION_HEAD + 10
    inner = Room(room.width - (0 if one.upright else 16), room.height - head)
    for prefix, maker in one.makers:
        every = [key for unit in maker.units for key in unit]
        heights = {key: maker.box(key, every).height for key in every}
        for keys in cut(maker.units, heights, maker.before, inner):
            one.parts.append(_Part(maker, keys, maker.panel(keys), prefix))


def _lay_out(series: list[_Series], frame: Frame) -> None:
    """Panels that come out too large are cut in two and laid out again, until all fit or are a single box."""
    rooms = {one.name: one.room(frame) for one in series}
    while waiting := [part for one in series for part in one.parts if part.layout is None]:
        texts = [panel_dot("order", part.panel, {}) for part in waiting]
        for part, layout in zip(waiting, layouts(texts), strict=True):
            part.layout = layout
        for one in series:
            room = rooms[one.name]
            kept: list[_Part] = []
            for part in one.parts:
                wide, high = _size(part)
                if (wide <= room.width and high <= room.height) or len(part.keys) == 1:
                    kept.append(part)
                    continue
                for keys in halves(part.keys, part.maker.units):
                    kept.append(_Part(part.maker, keys, part.maker.panel(keys), part.prefix))
            one.parts = kept


def _size(part: _Part) -> tuple[float, float]:
    if part.layout is not None:
        return panel_size(part.panel, part.layout)
    heights = {key: box.height for key, box in part.panel.boxes.items()}
    return estimate(part.keys, heights, part.maker.before, len(part.panel.groups))


def _pack(one: _Series, room: Room) -> None:
    one.sheets = pack([_size(part) for part in one.parts], [len(part.keys) for part in one.parts], room)


def _places(one: _Series) -> dict[str, str]:
    """Box -> the sheet it is on, and the panel where there are several: ``3``, ``3b``."""
    found: dict[str, str] = {}
    for number, spots in enumerate(one.sheets, start=1):
        for at, spot in enumerate(spots):
            part = one.parts[spot.panel]
            name = _panel_name(number, at, len(spots))
            found.update((f"{part.prefix}/{key}", name) for key in part.keys)
    return found


def _panel_name(number: int, at: int, of: int) -> str:
    if of == 1:
        return str(number)
    letters = "abcdefghijklmnopqrstuvwxyz"
    return f"{number}{letters[at] if at < 26 else letters[at // 26 - 1] + letters[at % 26]}"


def _where(part: _Part, where: Mapping[str, str]) -> Mapping[str, str]:
    return _Where(part.prefix, where)


class _Where(dict[str, str]):
    """A panel's own keys, and those that name their excursion."""

    def __init__(self, prefix: str, where: Mapping[str, str]) -> None:
        super().__init__()
        self.prefix = prefix
        self.all = where

    def get(self, key: str, default: str = "") -> str:  # type: ignore[override]
        return self.all.get(key if "/" in key else f"{self.prefix}/{key}", default)


def _text(one: _Series, file: str, number: int, spots: list[Spot], where: Mapping[str, str], frame: Frame) -> str:
    of = f", sheet {number} of {len(one.sheets)}" if len(one.sheets) > 1 else ""
    head = [f"{frame.title}: {one.title}{of}", f"plan {frame.identity}, {frame.tally}", *frame.safety]
    if frame.unchecked:
        head.insert(0, frame.warning)
    lines = [f"// {line}" for words in head for line in words.splitlines()]
    graphs = []
    for at, spot in enumerate(spots):
        part = one.parts[spot.panel]
        name = _panel_name(number, at, len(spots))
        title = [*head[: 3 if frame.unchecked else 2], *(part.panel.head or ()), *([name] if len(spots) > 1 else [])]
        graphs.append(panel_dot(f"{file} {name}", part.panel, _where(part, where), title))
    return "\n".join([*lines, *graphs])


def _picture(
    one: _Series,
    file: str,
    number: int,
    spots: list[Spot],
    where: Mapping[str, str],
    frame: Frame,
    styles: dict[Thing, ActorStyle],
) -> str:
    sheet = one.sheet(frame, file, number, len(one.sheets))
    y = sheet.top
    sizes = [_size(one.parts[spot.panel]) for spot in spots]
    wide = max(spot.x + size[0] for spot, size in zip(spots, sizes, strict=True))
    x = sheet.left + max(0.0, (sheet.right - sheet.left - wide) / 2)
    low = y
    for at, (spot, size) in enumerate(zip(spots, sizes, strict=True)):
        part = one.parts[spot.panel]
        assert part.layout is not None
        name = _panel_name(number, at, len(spots)) if len(spots) > 1 else ""
        drawing = PanelDrawing(sheet.svg, part.panel, part.layout, styles, _where(part, where), name)
        drawing.draw(x + spot.x, y + spot.y)
        low = max(low, y + spot.y + size[1])
    return sheet.finish(low)
