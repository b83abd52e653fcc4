"""Place frames for print: a strip of small schematics for each excursion, who and what is where phase by phase.

frames-<excursion>.svg, and …-sheet-2 and so on where one sheet is not enough. Positions come from `layout`, scenes from
`frames`. In print the places of a row of frames are as high as these frames need; columns are the same throughout."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from jackstay.model.records import Thing, World
from jackstay.outputs.clock import clock
from jackstay.outputs.frame import Frame
from jackstay.outputs.frames import Scene, moving_things, scenes_of, station
from jackstay.outputs.layout import EDGE, Cell, Layout, Point, arrange, least_width, on_grid
from jackstay.outputs.lettering import fold, text_width
from jackstay.outputs.look import A3_WIDTH, LEAD, MARGIN, SMALL, STRONG, TEXT, ActorStyle, actor_styles, step_id
from jackstay.outputs.sheet import Sheet, Sign, badge_legend
from jackstay.outputs.situation import at_home
from jackstay.outputs.svg import Svg, num, way
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place, spoken
from jackstay.outputs.words import Said

BOX, GAP = 84.0, 13.0  # least width of a place; between frames
LINE = SMALL * LEAD + 0.4
MOST_LINES = 16  # in a place
MOST_BESIDE = 4  # frames beside one another
CAPTION = 2  # lines under a frame
ABOUT = (
    "Each frame: who and what is where as a phase ends, by the nominal times, and how everyone got there. Bold: it "
    "hangs otherwise than in the frame before. Only what changes hands in this excursion is shown."
)


@dataclass(frozen=True, slots=True)
class Entry:
    """A line in a place. short: without how it is held. head: the fitting it is on, with which a line may end. actor:
    its badge stands before it. deep: how far it is indented. new: told in bold."""

    words: str
    short: str
    head: str
    thing: Thing
    actor: Thing | None = None
    deep: int = 0
    new: bool = False


@dataclass(slots=True)
class Strip:
    """What an excursion's frames share: each place's cell and width, and what each frame shows."""

    view: View
    scenes: list[Scene]
    cells: dict[Thing, Cell]
    width: float
    entries: list[dict[Thing, list[Entry]]]
    beside: int

    def laid_out(self, scenes: list[Scene]) -> Layout:
        """Places as high as the fullest of these frames needs them."""
        heights = {}
        for place in self.cells:
            lines = [sum(len(self.told(entry)) for entry in self.entries[s.number - 1][place]) for s in scenes]
            heights[place] = 15 + max(1, min(max(lines), MOST_LINES)) * LINE + 3
        return arrange(self.cells, self.width, heights)

    def told(self, entry: Entry) -> list[str]:
        """The entry's words in at most two lines that fit the place: without how it is held, if need be."""
        bold = entry.new or entry.actor is not None
        room = self.width - 9 - entry.deep * 8 - (12.5 if entry.actor is not None else 5.5)
        for words in (entry.words, entry.short):
            if text_width(words, SMALL, bold) <= room:
                return [words]
        if entry.head:
            return [fold(entry.head, SMALL, room, bold), fold(entry.short.removeprefix(entry.head), SMALL, room, bold)]
        return [fold(entry.short, SMALL, room, bold)]


def frames(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """File name -> text of the sheets."""
    styles = actor_styles(views, world.things)
    made: dict[str, str] = {}
    for view in views:
        strip = strip_of(world, view)
        if strip is None:
            continue
        name = _file_name(views, view)
        title = f"Who and what is where · {frame.said.excursion} {view.number}: {view.excursion.title}"
        legend = _legend(styles, frame.said)
        blank = Sheet(name, frame, title, frame.said.put(ABOUT), legend)
        pages = _pages(strip, blank.bottom - blank.top)
        for number, rows in enumerate(pages, start=1):
            part = name if number == 1 else f"{name}-sheet-{number}"
            sheet = Sheet(part, frame, title, frame.said.put(ABOUT), legend, number, len(pages))
            made[f"{part}.svg"] = _draw(sheet, world, strip, rows, styles)
    return made


def _file_name(views: list[View], view: View) -> str:
    """Excursions of two modules may share a name: they then get their numbers."""
    same = [one for one in views if one.excursion.name == view.excursion.name]
    return f"frames-{view.excursion.name}" if len(same) == 1 else f"frames-{view.excursion.name}-{view.number}"


Row = tuple[list[Scene], Layout, float]  # frames beside one another, how they are laid out, how high they are


def _pages(strip: Strip, room: float) -> list[list[Row]]:
    """Rows of frames, sheet by sheet."""
    pages: list[list[Row]] = []
    used = room
    for first in range(0, len(strip.scenes), strip.beside):
        scenes = strip.scenes[first : first + strip.beside]
        layout = strip.laid_out(scenes)
        high = layout.height - EDGE + 16 + CAPTION * LINE + 16
        if not pages or used + high > room:
            pages.append([])
            used = 0.0
        pages[-1].append((scenes, layout, high))
        used += high + GAP
    return pages


def strip_of(world: World, view: View) -> Strip | None:
    """None where the order is circular, or there is no place to show."""
    scenes = scenes_of(world, view)
    places = _places(world, scenes)
    if not scenes or not places:
        return None
    moving = moving_things(world, view)
    entries = [_entries(world, view, scene, places, moving) for scene in scenes]
    cells = on_grid(places, world.paths)
    whole = A3_WIDTH - 2 * MARGIN
    beside = max(1, min(MOST_BESIDE, len(scenes), int((whole + GAP) / (least_width(cells, BOX) + GAP))))
    return Strip(view, scenes, cells, _box_width(cells, whole, beside), entries, beside)


def _box_width(cells: dict[Thing, Cell], whole: float, beside: int) -> float:
    columns = max(column for column, _ in cells.values()) + 1
    frame = (whole - (beside - 1) * GAP) / beside
    return min((frame - least_width(cells, 0)) / columns, 190.0)


def _places(world: World, scenes: list[Scene]) -> list[Thing]:
    """Places on a path, and those where somebody or something is."""
    used = {end for path in world.paths for end in (path.a, path.b)}
    used |= {place for scene in scenes for at in scene.at.values() if (place := station(at, None)) is not None}
    return [thing for thing in world.things if thing in used and thing.sort == "location" and not thing.near]


# --- what stands in a place ------------------------------------------------------------------------------------------


def _entries(
    world: World, view: View, scene: Scene, places: list[Thing], moving: set[Thing]
) -> dict[Thing, list[Entry]]:
    found: dict[Thing, list[Entry]] = {place: [] for place in places}
    shown = [item for item in world.things if item in scene.hangs and item in moving]
    told: set[Thing] = set()

    def items_on(holder: Thing, deep: int) -> list[Entry]:
        made: list[Entry] = []
        for item in shown:
            attached, start, end = scene.hangs[item]
            how = [held.manner for held in attached if held.holder is holder]
            short = item.title
            if how:
                words = f"{item.title}" + (f" · {how[0]}" if how[0] and holder.sort != "location" else "")
                if len(attached) > 1:
                    words += f", {' + '.join(held.holder.title for held in attached if held.holder is not holder)} too"
            elif holder.sort == "actor" and holder in (start, end):  # on their line, whoever else has hold of it
                other = start if end is holder else end
                words = item.title
                if other is not None and other is not holder:
                    words += f" · {'from' if end is holder else 'to'} {other.title}"
            else:
                continue
            inner = [one.title for one in shown if any(held.holder is item for held in scene.hangs[one][0])]
            words += f" [{', '.join(inner)}]" if inner else ""
            short += f" [{', '.join(inner)}]" if inner else ""
            head = f"{item.title} " if inner else ""
            made.append(Entry(words, short, head, item, None, deep, item in scene.new))
            told.add(item)
        return made

    def person(actor: Thing, deep: int) -> list[Entry]:
        on = scene.stands.get(actor)
        seated = on is not None and on.sort != "location"
        words = f"{actor.title}, on {on.title}" if on is not None and seated else actor.title
        head = f"{actor.title}, " if seated else ""
        made = [Entry(words, words, head, actor, actor, deep, actor in scene.new)]
        if actor in told:
            return made
        told.add(actor)
        made += items_on(actor, deep + 1)
        for rider in view.own:
            if rider is not actor and _carried(scene, rider, actor):
                made += person(rider, deep + 1)
        return made

    for actor in view.own:
        place = station(scene.at.get(actor), None)
        if place in found and not any(_carried(scene, actor, other) for other in view.own if other is not actor):
            found[place] += person(actor, 0)
    for place in places:
        for fitting in world.things:
            if fitting.sort == "location" and fitting.near and fitting.near[0] is place:
                for entry in items_on(fitting, 0):
                    head = f"{fitting.title}: "
                    found[place].append(
                        Entry(head + entry.words, head + entry.short, head, entry.thing, None, 0, entry.new)
                    )
        found[place] += items_on(place, 0)
    return found


def _carried(scene: Scene, rider: Thing, actor: Thing) -> bool:
    """Whether the rider stands on something that hangs on the actor, or on the actor itself."""
    on = scene.stands.get(rider)
    seen: set[Thing] = set()
    while on is not None and on not in seen and on.sort != "location":
        if on is actor:
            return True
        seen.add(on)
        held = scene.hangs[on][0] if on in scene.hangs else ()
        on = held[0].holder if held else scene.stands.get(on)
    return False


# --- drawing ---------------------------------------------------------------------------------------------------------


def _draw(sheet: Sheet, world: World, strip: Strip, rows: list[Row], styles: dict[Thing, ActorStyle]) -> str:
    y = sheet.top
    for scenes, layout, high in rows:
        for at, scene in enumerate(scenes):
            x = sheet.left + at * (layout.width + GAP)
            _Frame(sheet.svg, world, strip, layout, scene, styles, x, y).draw(high)
        y += high + GAP
    return sheet.finish(y - GAP)


class _Frame:
    def __init__(
        self,
        svg: Svg,
        world: World,
        strip: Strip,
        layout: Layout,
        scene: Scene,
        styles: dict[Thing, ActorStyle],
        x: float,
        y: float,
    ) -> None:
        self.svg, self.world, self.strip, self.scene, self.styles = svg, world, strip, scene, styles
        self.x, self.y = x, y
        self.layout = layout

    def draw(self, high: float) -> None:
        svg, scene, wide = self.svg, self.scene, self.layout.width
        open_mark = scene.at_least
        when = f"{clock(scene.since, open_mark)}–{clock(scene.until, open_mark)}"
        tasks = "; ".join(task.title for task in scene.tasks)
        label = f"Frame {scene.number}, {when}: {tasks}"
        data = {
            "data-since": num(float(scene.since)),
            "data-until": num(float(scene.until)),
            "data-steps": " ".join(step_id(self.strip.view, step) for step in scene.steps),
        }
        with svg.box("frame", label, f"scene-{scene.number}", data, tip=label):
            svg.rect(self.x, self.y, wide, high, "f-paper s-hair", 3, stroke_width=0.8)
            svg.rect(self.x, self.y, wide, 15, "f-wash", 3)
            x = self.x + 8
            x += svg.text(x, self.y + 11, f"{scene.number}", STRONG, "f-ink", True) + 8
            x += svg.text(x, self.y + 11, when, STRONG, "f-ink", True) + 10
            svg.text(x, self.y + 11, tasks, TEXT, "f-soft", width=self.x + wide - 6 - x)
            self.y += 15
            self._paths()
            for place in self.layout.boxes:
                self._place(place)
            self._moves()
            self._caption(self.y + self.layout.height - EDGE + 18)

    def _shift(self, points: list[Point]) -> list[Point]:
        return [(self.x + x, self.y + y) for x, y in points]

    def _paths(self) -> None:
        """Ways as lines between posts, with their lengths."""
        svg = self.svg
        taken: list[Spot] = []
        boxes = [
            (self.x + box.x - 1, self.y + box.y, self.x + box.right, self.y + box.bottom)
            for box in self.layout.boxes.values()
        ]
        shown = [path for path in self.world.paths if path.a in self.layout.boxes and path.b in self.layout.boxes]
        for path in shown:
            points = self._shift(self.layout.way(path.a, path.b))
            svg.path(way(points), "n s-soft", 1.2)
            spots = _label_spots(points, path.length.text)
            spot = next((one for one in spots if not any(_meet(one, other) for other in (*boxes, *taken))), None)
            if spot is not None:
                taken.append(spot)
                svg.text(spot[0], spot[3] - 1.4, path.length.text, SMALL, "f-soft")

    def _place(self, place: Thing) -> None:
        svg, box = self.svg, self.layout.boxes[place]
        x, y = self.x + box.x, self.y + box.y
        entries = self.strip.entries[self.scene.number - 1][place]
        label = f"{place.title}: {', '.join(entry.words for entry in entries) or 'nothing'}"
        with svg.box("place", label, data={"data-thing": place.name}):
            svg.rect(
                x, y, box.width, box.height, f"{'f-dusk' if at_home(place) else 'f-tag'} s-ink", 2, stroke_width=0.9
            )
            svg.line(x, y - 2.5, x, y + box.height + 2.5, "s-ink", 2.4)
            svg.text(x + 6, y + 10.5, place.title, TEXT, "f-ink", True, width=box.width - 10)
            row = y + 10.5 + LINE + 1
            left = MOST_LINES
            for number, entry in enumerate(entries):
                lines = self.strip.told(entry)
                rest = len(entries) - number
                if len(lines) > left - (1 if rest > 1 else 0):
                    svg.text(x + 6, row, f"and {rest} more", SMALL, "f-soft")
                    break
                self._entry(entry, lines, x + 6 + entry.deep * 8, row)
                row += LINE * len(lines)
                left -= len(lines)

    def _entry(self, entry: Entry, lines: list[str], x: float, y: float) -> None:
        svg = self.svg
        style = self.styles.get(entry.actor) if entry.actor is not None else None
        with svg.group("thing", "", data={"data-thing": entry.thing.name}, tip=entry.words):
            if style is not None:
                svg.badge(x + 4.6, y - 2.6, style, 4.6)
            elif entry.new:
                svg.circle(x + 1.8, y - 2.5, 1.5, "f-ink")
            else:
                svg.circle(x + 1.8, y - 2.5, 1.3, "f-paper s-ink", 0.7)
            x += 12.5 if style is not None else 5.5
            for line in lines:
                svg.text(x, y, line, SMALL, "f-ink", entry.new or style is not None)
                y += LINE

    def _moves(self) -> None:
        """How everybody got there: an arrow into each place on the way, in the actor's own dash."""
        svg = self.svg
        lanes = {actor: at for at, actor in enumerate(self.strip.view.own, start=1)}
        for move in self.scene.moves:
            style = self.styles[move.actor]
            done: set[tuple[Thing, Thing]] = set()
            steps = " ".join(step_id(self.strip.view, step) for step in move.steps)
            names = " and ".join(one.title for one in [move.actor, *move.riders])
            label = f"{names}: {' → '.join(place.title for place in move.route)}"
            data = {"data-steps": steps, "data-place": source_place(move.steps[-1].entry.at)}
            with svg.group("move", label, data=data):
                for a, b in pairwise(move.route):
                    if a is b or (a, b) in done or a not in self.layout.boxes or b not in self.layout.boxes:
                        continue
                    done.add((a, b))
                    points = self._shift(self.layout.way(a, b, lanes[move.actor]))
                    for start, stop in pairwise(points[:-1]):
                        svg.line(*start, *stop, f"l{style.hue} n", 1.6, style.dash)
                    svg.arrow(*points[-2], *points[-1], f"l{style.hue}", 1.6, style.dash)

    def _caption(self, y: float) -> None:
        """Who went where, and the calls of the phase."""
        svg, scene, left = self.svg, self.scene, self.x + 8
        right = self.x + self.layout.width - 6
        x = left + svg.text(left, y, "Moves", SMALL, "f-ink", True) + 9
        for move in scene.moves:
            words = " → ".join(place.title for place in move.route)
            need = 12.0 * (1 + len(move.riders)) + 2
            if right - x - need < min(text_width(words, SMALL), 60):
                svg.text(
                    x, y, f"and {len(scene.moves) - scene.moves.index(move)} more", SMALL, "f-soft", width=right - x
                )
                break
            for actor in (move.actor, *move.riders):
                svg.badge(x + 4.6, y - 2.6, self.styles[actor], 4.6)
                x += 12
            after = 0.0 if move is scene.moves[-1] else 50.0  # for what stands after it
            x += svg.text(x + 1, y, words, SMALL, "f-soft", width=max(right - x - 1 - after, 60)) + 10
        if not scene.moves:
            svg.text(x, y, "none", SMALL, "f-soft")
        y += LINE
        x = left + svg.text(left, y, "Calls", SMALL, "f-ink", True) + 9
        said = "; ".join(spoken(call) for call in scene.calls) or "none"
        svg.text(x, y, said, SMALL, "f-soft", width=right - x)


Spot = tuple[float, float, float, float]


def _label_spots(points: list[Point], words: str) -> list[Spot]:
    """Where a way's length fits beside its line, best first: (left, top, right, bottom). Beside the longest stretch;
    over a level one, then under it; in its middle, then nearer its ends."""
    wide = text_width(words, SMALL)
    found: list[tuple[float, Spot]] = []
    for (x1, y1), (x2, y2) in pairwise(points):
        if abs(y1 - y2) < 0.1 and abs(x1 - x2) >= wide + 1:
            room, left = abs(x1 - x2) - wide, min(x1, x2)
            for top in (y1 - 1 - SMALL, y1 + 1.4):
                found += [
                    (abs(x1 - x2), (left + room * part, top, left + room * part + wide, top + SMALL))
                    for part in (0.5, 0.25, 0.75)
                ]
        elif abs(x1 - x2) < 0.1 and abs(y1 - y2) >= SMALL + 4:
            y = max(y1, y2) - 2.5
            found.append((abs(y1 - y2), (x1 + 3, y - SMALL, x1 + 3 + wide, y + 1.4)))
    return [spot for _, spot in sorted(found, key=lambda one: -one[0])]


def _meet(a: Spot, b: Spot) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _legend(styles: dict[Thing, ActorStyle], words: Said) -> list[tuple[Sign, str]]:
    def path(svg: Svg, x: float, y: float) -> None:
        svg.line(x - 13, y, x + 13, y, "s-soft", 1.2)

    def place(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 11, y - 4.5, 23, 9, "f-tag s-ink", 1, stroke_width=0.9)
        svg.line(x - 11, y - 6, x - 11, y + 6, "s-ink", 2.4)

    def home(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 11, y - 4.5, 23, 9, "f-dusk s-ink", 1, stroke_width=0.9)
        svg.line(x - 11, y - 6, x - 11, y + 6, "s-ink", 2.4)

    def moved(svg: Svg, x: float, y: float) -> None:
        style = next(iter(styles.values()))
        svg.arrow(x - 13, y, x + 13, y, f"l{style.hue}", 1.6, style.dash)

    def bead(cls: str) -> Sign:
        return lambda svg, x, y: svg.circle(x, y, 1.8, cls, 0.7)

    signs: list[tuple[Sign, str]] = [*badge_legend(styles)]
    signs += [
        (place, words.put("place outside")),
        (home, words.put("place inside (shaded)")),
        (path, "path and its length"),
    ]
    if styles:
        signs.append((moved, "way taken since the frame before"))
    return [
        *signs,
        (bead("f-paper s-ink"), "thing, on whom or on which fitting · how"),
        (bead("f-ink"), "new there"),
        (_brackets, "what is in or on it"),
    ]


def _brackets(svg: Svg, x: float, y: float) -> None:
    svg.text(x, y + 2.5, "[ ]", SMALL, "f-ink", False, "middle")
