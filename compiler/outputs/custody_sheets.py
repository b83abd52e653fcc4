"""The custody diagram: a line for each thing that changes hands, with a tag for each holder or place it comes to.

custody-1.svg …, at most a dozen things each. Tags stand in order, not to scale; each tells time and source line.
`custody_list` says which sheet a thing is on."""

from __future__ import annotations

from jackstay.model.records import Thing, World
from jackstay.outputs.clock import total
from jackstay.outputs.custody import Stay, chains, containers, groups
from jackstay.outputs.custody_rows import (
    BETWEEN,
    GAP,
    LANE,
    LINE,
    NAME,
    PAD,
    SIGN_WIDE,
    SPINE,
    Cell,
    Row,
    cell_height,
    holder_lines,
    holder_words,
    inside_first,
    inside_words,
    lay_out,
    line_height,
    name_height,
    period_words,
    periods,
    place_words,
    row_height,
    signs_of,
    stub_lines,
    tag_lines,
    thing_words,
    when_words,
    why_words,
    x_of,
)
from jackstay.outputs.frame import Frame
from jackstay.outputs.lettering import text_width, wrap_text
from jackstay.outputs.look import A3_WIDTH, MARGIN, SMALL, STRONG, TEXT, ActorStyle, actor_styles, step_link
from jackstay.outputs.sheet import Sheet, Sign, badge_legend
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import View
from jackstay.outputs.words import Said

ROWS = 12  # things on a sheet
HEADING = 13.0
TITLE = "Who has what, and where"
ABOUT = (
    "A line for each thing that changes hands. Posts: an excursion begins. Tags: the holder or place it comes to, "
    "where that is, when, by which step of which source line. In order, not to scale."
)
Chains = dict[Thing, list[list[Stay]]]


def custody(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """File name -> text of the sheets."""
    styles = actor_styles(views, world.things)
    found, plans = planned(world, views, frame)
    made: dict[str, str] = {}
    for number, rows in enumerate(plans, start=1):
        name = f"custody-{number}"
        sheet = Sheet(name, frame, TITLE, frame.said.put(ABOUT), _legend(styles, frame.said), number, len(plans))
        made[f"{name}.svg"] = _Drawing(sheet, views, rows, styles, found).text()
    return made


def planned(world: World, views: list[View], frame: Frame) -> tuple[Chains, list[list[Row]]]:
    """Everything's stays, and the rows of each sheet."""
    found = chains(world, views)
    blank = Sheet(
        "custody", frame, TITLE, frame.said.put(ABOUT), _legend(actor_styles(views, world.things), frame.said)
    )
    return found, plan_sheets(found, blank.bottom - blank.top - _heads_height(views))


def plan_sheets(found: Chains, high: float) -> list[list[Row]]:
    """The rows of each sheet, at most ROWS and no higher than the room in points; a group stays together if it can."""
    inner = containers(found)
    sheets: list[list[Row]] = []
    used = high
    for group in groups(found):
        rows = [Row(thing, found[thing], inner.get(thing, []), group.title) for thing in group.things]
        for row in rows:
            lay_out(row, MARGIN + NAME, A3_WIDTH - 2 * MARGIN - NAME)
        heights = [row_height(row) for row in rows]
        whole = HEADING + sum(heights)
        if not sheets or (used + whole > high and whole < high * 0.6) or len(sheets[-1]) + 1 > ROWS:
            sheets.append([])
            used = 0
        used += HEADING
        for row, height in zip(rows, heights, strict=True):
            if sheets[-1] and (used + height > high or len(sheets[-1]) >= ROWS):
                sheets.append([])
                used = HEADING
            sheets[-1].append(row)
            used += height
    return sheets


def _heads_height(views: list[View]) -> float:
    return 18.0 * len(_heads(views))


def _heads(views: list[View]) -> list[list[tuple[float, View, str]]]:
    """The excursions' names in lines, each with its x."""
    lines: list[list[tuple[float, View, str]]] = [[]]
    x = MARGIN + NAME
    for view in views:
        times = view.times
        long = f" · {total(times.makespan, times.makespan_open)}" if times is not None else " · not worked out"
        (words,) = wrap_text(f"{view.number}  {view.excursion.title}{long}", STRONG, A3_WIDTH / 2, 1, True)
        need = text_width(words, STRONG, True) + 40
        if lines[-1] and x + need > A3_WIDTH - MARGIN:
            lines.append([])
            x = MARGIN + NAME
        lines[-1].append((x, view, words))
        x += need
    return lines


class _Drawing:
    def __init__(
        self, sheet: Sheet, views: list[View], rows: list[Row], styles: dict[Thing, ActorStyle], found: Chains
    ) -> None:
        self.sheet, self.svg, self.views, self.rows = sheet, sheet.svg, views, rows
        self.styles, self.found = styles, found

    def text(self) -> str:
        svg, y = self.svg, self.sheet.top
        for line in _heads(self.views):
            for x, _, words in line:
                svg.line(x, y, x, y + 13, "s-ink", 2.4)
                svg.text(x + 7, y + 10, words, STRONG, "f-ink", True)
            y += 18
        group = None
        for row in self.rows:
            if row.group != group:
                group = row.group
                svg.line(self.sheet.left, y, self.sheet.right, y, "s-hair", 0.6)
                svg.text(self.sheet.left, y + 8.5, group, SMALL, "f-soft", width=self.sheet.right - self.sheet.left)
                y += HEADING
            self._row(row, y + 2)
            y += row_height(row)
        return self.sheet.finish(y)

    def _row(self, row: Row, y: float) -> None:
        svg, thing = self.svg, row.thing
        with svg.group("custody", f"{thing.title}: who has it", f"t{thing.index}", {"data-thing": thing.name}):
            names = wrap_text(thing.title, TEXT, NAME - 8, 3, True)
            below = svg.lines(self.sheet.left, y + TEXT, names, TEXT, "f-ink", True)
            svg.text(self.sheet.left, below - 1, thing_words(thing), SMALL, "f-soft", width=NAME - 8)
            top = y
            last: Stay | None = None
            before: Stay | None = None  # what the thing comes back to after a there-and-back
            for n, line in enumerate(row.lines):
                height = line_height(line)
                for cell in line:
                    last, before = self._cell(cell, top, height, last, before)
                if n + 1 < len(row.lines):
                    self._turn(line[-1], row.lines[n + 1][0], top, top + height + BETWEEN)
                top += height + BETWEEN
            bottom = max(top, y + name_height(row))
            for number, content in enumerate(row.lanes):
                self._lane(row, content, bottom + number * LANE - 1)

    def _cell(
        self, cell: Cell, y: float, height: float, last: Stay | None, before: Stay | None
    ) -> tuple[Stay | None, Stay | None]:
        """Draws a cell and the line before it; gives what the thing hangs on after it, twice."""
        if last is not None:
            self._rope(before if last.back is not None and before is not None else last, cell.x - GAP, cell.x, y)
        stay = cell.stay
        if stay is None:
            assert last is not None
            end = before if last.back is not None and before is not None else last
            self._post(cell.x + 4, y, 14, end.inside)
            self._rope(end, cell.x, cell.x + 4, y)
            return last, before
        self._rope(stay, cell.x, cell.x + cell.width, y)
        if cell.sort == "tag":
            self._tag(cell, stay, y)
            return stay, before if stay.back is not None else stay
        self._stub(cell, stay, y)
        self._post(cell.x + 2, y, height, inside_first(stay))
        return stay, stay

    def _rope(self, stay: Stay, x1: float, x2: float, y: float) -> None:
        """The line itself: an actor's own dash, doubled where two have hold, thin in a container or at a place."""
        svg = self.svg
        direct = [one for one in signs_of(stay) if one in self.styles]
        if not direct:
            svg.line(x1, y, x2, y, "s-ink", 0.8, "" if stay.held or any(stay.hangs[1:]) else "1 2")
        for n, actor in enumerate(direct):
            style = self.styles[actor]
            svg.line(x1, y - 2.4 * n, x2, y - 2.4 * n, f"l{style.hue}", 2, style.dash)

    def _post(self, x: float, y: float, height: float, inside: bool | None) -> None:
        self.svg.line(x, y - 5, x, y + height, "s-ink", 2.4)
        if inside is not None:
            self.svg.circle(x, y, 3.4, "f-ink s-ink" if inside else "f-paper s-ink", 1.3)

    def _turn(self, cell: Cell, first: Cell, y: float, below: float) -> None:
        """From the end of a broken line to the beginning of the next."""
        right, left = cell.x + cell.width, first.x - 12
        points = [(right, y), (right + 3.5, y), (right + 3.5, below - 4), (left, below - 4), (left, below)]
        self.svg.path(way([*points, (first.x - GAP, below)]), "n s-ink", 0.9)

    def _stub(self, cell: Cell, stay: Stay, y: float) -> None:
        svg = self.svg
        label = f"{stay.thing.title}, {self.sheet.frame.said.excursion} {inside_words(stay)}: {holder_words(stay)}"
        with svg.box("stub", label, tip=f"{label}; {place_words(stay)}", data={"data-thing": stay.thing.name}):
            svg.rect(cell.x + 2, y + 2, cell.width - 2, cell_height(cell) - 2, "f-wash")
            svg.text(cell.x + 9, y + SMALL + 4, inside_words(stay), SMALL, "f-ink", True, width=cell.width - 9)
            svg.lines(cell.x + 9, y + SMALL + 4 + LINE, stub_lines(cell), SMALL, "f-soft")

    def _tag(self, cell: Cell, stay: Stay, y: float) -> None:
        svg = self.svg
        assert stay.step is not None
        x, width, height = cell.x, cell.width, cell_height(cell)
        data = {**step_link(stay.view, stay.step), "data-thing": stay.thing.name}
        if stay.back is not None:
            data["data-back"] = step_link(stay.view, stay.back)["data-step"]
        label = f"{stay.thing.title}, {when_words(stay)}: {holder_words(stay)}; {why_words(stay, True)}"
        tip = "; ".join(part for part in (label, place_words(stay), data["data-place"]) if part)
        with svg.box("stay", label, data=data, tip=tip):
            cut = 4.0
            outline = [(x + cut, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y + cut)]
            svg.path(way(outline, True), "f-tag s-ink", 0.8, "3 2" if stay.back is not None else "")
            self._spine(stay, x, y, height)
            at = self._signs(stay, x + SPINE + PAD, y + 7.8)
            row = svg.lines(at, y + 10.3, holder_lines(cell), SMALL, "f-ink", True) + 0.6
            for words, cls in tag_lines(cell):
                svg.text(x + SPINE + PAD, row, words, SMALL, cls)
                row += LINE

    def _spine(self, stay: Stay, x: float, y: float, height: float) -> None:
        """The tag's left edge: who has it, in their pattern; plain where nobody does."""
        svg = self.svg
        who = [one for one in stay.who if one in self.styles][:2]
        if not who:
            svg.rect(x + 0.6, y + 4.4, SPINE - 1.2, height - 5, "f-hair" if stay.inside else "f-wash")
        part = (height - 5) / max(len(who), 1)
        for n, actor in enumerate(who):
            svg.rect(x + 0.6, y + 4.4 + n * part, SPINE - 1.2, part, "", fill=svg.pattern(self.styles[actor]))

    def _signs(self, stay: Stay, x: float, y: float) -> float:
        """Badges of the actors who hold it, or a sign of what does; gives where the words begin."""
        for one in signs_of(stay):
            if one in self.styles:
                self.svg.badge(x + 4.6, y, self.styles[one], 4.6)
            else:
                (place_sign if one.sort == "location" else container_sign)(self.svg, x + 3.5, y)
            x += SIGN_WIDE
        return x

    def _lane(self, row: Row, content: Thing, y: float) -> None:
        """A thin line for something that travels in the row's thing, for as long as it is in it; in words where the
        row's own line is broken."""
        svg = self.svg
        with svg.group("lane", f"{content.title} in {row.thing.title}", data={"data-thing": content.name}):
            svg.text(self.sheet.left + 7, y + 5.5, f"with {content.title}", SMALL, "f-soft", width=NAME - 12)
            if len(row.lines) > 1:
                word = self.sheet.frame.said.excursion
                told = [
                    f"{word} {view.number}: {period_words(self.found[content][at], row.thing)}"
                    for at, view in enumerate(self.views)
                    if period_words(self.found[content][at], row.thing)
                ]
                room = self.sheet.right - self.sheet.left - NAME
                svg.text(self.sheet.left + NAME, y + 5.5, "; ".join(told), SMALL, "f-soft", width=room)
                return
            for at, view in enumerate(self.views):
                if view.times is None:
                    continue
                for start, stop in periods(self.found[content][at], row.thing):
                    whole = view.times.makespan
                    ends = [whole * 0 if start is None else start, whole if stop is None else stop]
                    x1, x2 = (x_of(row, view.number, when, whole) for when in ends)
                    x2 = max(x2, x1 + 1)
                    svg.line(x1, y + 3, x2, y + 3, "s-soft", 1)
                    for x, real in ((x1, start is not None), (x2, stop is not None)):
                        if real:
                            svg.circle(x, y + 3, 1.7, "f-paper s-soft", 0.9)


# --- signs -----------------------------------------------------------------------------------------------------------


def place_sign(svg: Svg, x: float, y: float) -> None:
    """A post with its foot."""
    strokes = ([(x, y - 4), (x, y + 4)], [(x - 3, y + 4), (x + 3, y + 4)], [(x - 2.5, y - 2), (x + 2.5, y - 2)])
    svg.path("".join(map(way, strokes)), "n s-ink", 1.1)


def container_sign(svg: Svg, x: float, y: float) -> None:
    """A pouch."""
    pouch = [(x - 3.4, y - 2.4), (x + 3.4, y - 2.4), (x + 2.5, y + 4), (x - 2.5, y + 4)]
    svg.path(way(pouch, True), "f-paper s-ink", 0.9)
    svg.path(way([(x - 1.5, y - 2.4), (x - 1.5, y - 4), (x + 1.5, y - 4), (x + 1.5, y - 2.4)]), "n s-ink", 0.9)


def _legend(styles: dict[Thing, ActorStyle], words: Said) -> list[tuple[Sign, str]]:
    def pair(svg: Svg, x: float, y: float) -> None:
        for n, style in enumerate(list(styles.values())[:2]):
            svg.line(x - 13, y + 1 - 2.4 * n, x + 13, y + 1 - 2.4 * n, f"l{style.hue}", 2, style.dash)

    def thin(svg: Svg, x: float, y: float) -> None:
        svg.line(x - 13, y, x + 13, y, "s-soft", 1)
        for at in (-6, 6):
            svg.circle(x + at, y, 1.7, "f-paper s-soft", 0.9)

    def post(cls: str) -> Sign:
        def draw(svg: Svg, x: float, y: float) -> None:
            svg.line(x, y - 6, x, y + 6, "s-ink", 2.4)
            svg.circle(x, y, 3.4, cls, 1.3)

        return draw

    def there_and_back(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 12, y - 4.5, 24, 9, "f-tag s-ink", stroke_width=0.8, stroke_dasharray="3 2")

    def inserted(svg: Svg, x: float, y: float) -> None:
        svg.text(x, y + 3, ">", TEXT, "f-ink", True, "middle")

    signs: list[tuple[Sign, str]] = [*badge_legend(styles)]
    signs += [(place_sign, "place or fitting"), (container_sign, "in or on another thing")]
    if len(styles) > 1:
        signs.append((pair, "two have hold of it"))
    return [
        *signs,
        (there_and_back, "taken for one step and put back"),
        (thin, "travels in the thing above (gap: out of it)"),
        (post("f-ink s-ink"), words.put("an excursion begins: inside then")),
        (post("f-paper s-ink"), words.put("outside then")),
        (inserted, "inserted, not written"),
    ]
