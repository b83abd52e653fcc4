"""timeline-campaign.svg: every excursion in a row of its own, all to one scale: who is at which task when, how long it
is against its limit, and what stays outside between one and the next."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from jackstay.flow.records import Step
from jackstay.model.records import Excursion, Task, Thing, World
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.crewline_clock import OVERVIEW, Ends, Overview, diamond, ends_of
from jackstay.outputs.crewline_key import Key, Numbers
from jackstay.outputs.crewline_parts import lane_order
from jackstay.outputs.crewline_tasks import task_words
from jackstay.outputs.frame import Frame
from jackstay.outputs.lettering import text_width, wrap_text
from jackstay.outputs.look import A3_WIDTH, LEAD, MARGIN, SMALL, STRONG, TEXT, ActorStyle
from jackstay.outputs.order_signs import RANK_DASH
from jackstay.outputs.sheet import Sheet, Sign, badge_legend
from jackstay.outputs.svg import Svg, way
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_idle
from jackstay.outputs.wording import source_place
from jackstay.outputs.words import said

GUTTER = 118.0
EDGE = 8.0
LANE = 16.0
BLOCK = 12.5
SPINE = 4.0
NARROW = 17.0  # a block that has no pattern at its edge, but room for a number
APART = 14.0
MORE_LINES = 6  # of what stays outside after one excursion
ABOUT = (
    "Every excursion to one scale, if everything takes its usual time. A block: one of the crew is at a task. What is "
    "written between two excursions stays outside meanwhile."
)


@dataclass(slots=True)
class Block:
    """Steps of one task that an actor does with no other task between. Seconds."""

    task: Task
    start: Fraction
    end: Fraction
    first: Step


@dataclass(slots=True)
class Row:
    view: View
    overview: Overview | None
    lanes: list[tuple[Thing, list[Block]]]
    outside: list[str]
    keyed: list[tuple[Block, str]] = field(default_factory=list)

    @property
    def height(self) -> float:
        return (
            OVERVIEW + len(self.lanes) * LANE + len(self.outside) * SMALL * LEAD + APART + (10 if self.outside else 0)
        )


def free_name(name: str, taken: set[str]) -> str:
    """The name, or a longer one where that is taken; notes it as taken."""
    while name in taken:
        name += "-sheet"
    taken.add(name)
    return name


def campaign(
    world: World, views: list[View], frame: Frame, styles: dict[Thing, ActorStyle], taken: set[str]
) -> dict[str, str]:
    """File name without its ending -> text."""
    legend = _legend(styles, views)
    blank = Sheet("timeline-campaign", frame, "The campaign", frame.said.put(ABOUT), legend, 10, 10)
    left, right = MARGIN + GUTTER, A3_WIDTH - MARGIN - EDGE
    latest = Fraction(0)
    spreads: dict[int, Ends | None] = {}
    for view in views:
        if view.times is not None:
            spreads[view.number] = ends_of(view)
            latest = max(latest, Overview(view, view.times, spreads[view.number], left, right).latest)
    rows = []
    for view in views:
        overview = None
        if view.times is not None:
            overview = Overview(view, view.times, spreads[view.number], left, right, latest)
        rows.append(Row(view, overview, _lanes(view), _outside_lines(world, views, view)))
    numbers = Numbers()
    sheets: list[tuple[list[Row], Key]] = []
    room = blank.bottom - blank.top - 6
    for row in rows:
        trial = [*sheets[-1][0], row] if sheets else [row]
        key = _key_of(trial, numbers)
        if not sheets or sum(one.height for one in trial) + key.height() > room:
            sheets.append(([row], _key_of([row], numbers)))
        else:
            sheets[-1] = (trial, key)
    names = ["timeline-campaign"]
    names += [free_name(f"timeline-campaign-{number}", taken) for number in range(2, len(sheets) + 1)]
    made: dict[str, str] = {}
    for number, (name, (chosen, key)) in enumerate(zip(names, sheets, strict=True), start=1):
        sheet = Sheet(name, frame, "The campaign", frame.said.put(ABOUT), legend, number, len(sheets))
        y = sheet.top
        for row in chosen:
            _draw(sheet, row, styles, key, y, len(views))
            y += row.height
        made[name] = sheet.finish(key.draw(sheet, y))
    return made


# --- what stands in a row --------------------------------------------------------------------------------------------


def _lanes(view: View) -> list[tuple[Thing, list[Block]]]:
    times = view.times
    if times is None:
        return []
    found = []
    for actor in lane_order(view):
        blocks: list[Block] = []
        for step in view.own[actor]:
            if is_idle(step):
                continue
            start, end = times.start[step.index], times.end[step.index]
            if blocks and blocks[-1].task is step.entry.task:
                blocks[-1].end = max(blocks[-1].end, end)
            else:
                blocks.append(Block(step.entry.task, start, end, step))
        found.append((actor, blocks))
    return found


def _outside_lines(world: World, views: list[View], view: View) -> list[str]:
    """What stays outside after an excursion: left by it, or by one before it, and not brought in since."""
    names = {one.excursion.name: one.excursion for one in views}
    kept: dict[Thing, str | None] = {}
    so: dict[str, str | None] = {}
    for one in views[: view.number]:
        for thing in [left.thing for left in one.excursion.comes_inside]:
            kept.pop(thing, None)
        for thing in [thing for thing, until in kept.items() if until == one.excursion.name]:
            kept.pop(thing)
        kept.update((left.thing, left.until) for left in one.excursion.left_outside)
        for text in [text for text, until in so.items() if until == one.excursion.name]:
            so.pop(text)
        so.update((state.test.text, state.until) for state in one.excursion.left_so)
    outside = said(view.world).outside
    groups: dict[str, list[str]] = {}
    for thing, until in kept.items():
        groups.setdefault(_until(until, names), []).append(thing.title)
    words = [f"stays {outside} {until}: {', '.join(things)}" for until, things in groups.items()]
    if so:
        words.append("left so: " + "; ".join(f"{text} ({_until(until, names)})" for text, until in so.items()))
    room = A3_WIDTH - 2 * MARGIN - GUTTER - EDGE - 14
    lines = [line for text in words for line in wrap_text(text, SMALL, room, 2)]
    return (
        lines
        if len(lines) <= MORE_LINES
        else [*lines[: MORE_LINES - 1], f"and {len(lines) - MORE_LINES + 1} lines more"]
    )


def _until(name: str | None, names: dict[str, Excursion]) -> str:
    if name is None:
        return "for good"
    return f"until {names[name].title}" if name in names else f"until {name}"


def _room(row: Row, block: Block) -> float:
    assert row.overview is not None
    return row.overview.x(block.end) - row.overview.x(block.start) - SPINE - 3


def _words(row: Row, block: Block) -> str:
    return next((one for one in task_words(block.task) if text_width(one, SMALL) <= _room(row, block)), "")


def _key_of(rows: list[Row], numbers: Numbers) -> Key:
    """Numbers for the tasks whose words do not fit into some block of theirs."""
    key = Key(numbers, A3_WIDTH - 2 * MARGIN)
    for row in rows:
        for _, blocks in row.lanes:
            _captions(row, blocks, key)
    return key


def _keyed(row: Row, task: Task, key: Key) -> str:
    when = clock(min(block.start for _, blocks in row.lanes for block in blocks if block.task is task))
    data = {"data-task": task.name, "data-place": source_place(task.decl)}
    words = f"{said(row.view.world).excursion} {row.view.number}: {task_words(task)[0]} · {data['data-place']}"
    return str(key.number("task", _task_index(row.view, task), when, "", words, data))


def _task_index(view: View, task: Task) -> int:
    return view.number * 10_000 + view.excursion.tasks.index(task)


# --- drawing ---------------------------------------------------------------------------------------------------------


def _draw(sheet: Sheet, row: Row, styles: dict[Thing, ActorStyle], key: Key, y: float, of: int) -> None:
    svg, view = sheet.svg, row.view
    excursion = view.excursion
    title = f"{view.number}  {excursion.title}"
    data = {"data-excursion": excursion.name, "data-place": source_place(excursion.decl)}
    with svg.group("excursion", f"{sheet.frame.said.heading} {view.number} of {of}: {excursion.title}", data=data):
        if row.overview is None or view.times is None:
            svg.text(sheet.left, y + 20, title, STRONG, "f-ink", True, width=GUTTER - 10)
            svg.text(sheet.left + GUTTER, y + 20, NOT_WORKED_OUT, TEXT, "f-loud", True)
            return
        row.overview.draw(
            svg, sheet.left, y, None, sheet.frame.said.excursion, wrap_text(title, STRONG, GUTTER - 12, 3, True)
        )
        y += OVERVIEW
        for actor, blocks in row.lanes:
            style = styles[actor]
            svg.badge(sheet.left + 7, y + 5, style, 4.6)
            svg.text(sheet.left + 16, y + 8, actor.title, SMALL, "f-ink", width=GUTTER - 24)
            middle = y + BLOCK / 2
            end = view.times.actor_end.get(actor, Fraction(0))
            svg.line(row.overview.left, middle, row.overview.x(end), middle, f"l{style.hue}", 1.1, style.dash)
            for block in blocks:
                _block(svg, row, block, actor, style, y)
            for caption in _captions(row, blocks, key):
                if caption.beside:
                    svg.rect(caption.x - 1, y, text_width(caption.words, SMALL, True) + 2, BLOCK, "f-paper")
                svg.text(caption.x, y + 9, caption.words, SMALL, "f-ink", caption.bold)
            y += LANE
        if row.outside:
            high = len(row.outside) * SMALL * LEAD + 5
            with svg.box("outside", sheet.frame.said.put("what stays outside then")):
                svg.path(_hung(row.overview.left, y + 2, row.overview.right, high), "f-wash s-soft", 0.7)
                svg.lines(row.overview.left + 10, y + 11, row.outside, SMALL, "f-ink")
            svg.text(sheet.left, y + 11, "then, until the next", SMALL, "f-soft", width=GUTTER - 8)


def _hung(left: float, y: float, right: float, high: float) -> str:
    return way([(left + 5, y), (right, y), (right, y + high), (left + 5, y + high), (left, y + high / 2)], True)


@dataclass(frozen=True, slots=True)
class Caption:
    """beside: it stands on the line, not in a block."""

    x: float
    words: str
    bold: bool
    beside: bool


def _captions(row: Row, blocks: list[Block], key: Key) -> list[Caption]:
    """The words of blocks, or their numbers; a number that has no room stands with the next one."""
    overview = row.overview
    assert overview is not None
    found: list[Caption] = []
    carried: list[str] = []
    used = overview.left
    for n, block in enumerate(blocks):
        x, right = overview.x(block.start), max(overview.x(block.end), overview.x(block.start) + 1.2)
        after = overview.x(blocks[n + 1].start) - 1 if n + 1 < len(blocks) else overview.right
        words = _words(row, block)
        if words and not carried:
            found.append(Caption(x + SPINE + 2, words, False, False))
            used = right
            continue
        carried.append(_keyed(row, block.task, key))
        text = ", ".join(carried)
        wide = text_width(text, SMALL, True)
        if right - x - SPINE - 2 >= wide:
            found.append(Caption(x + SPINE + 1.5, text, True, False))
        elif right - x > wide + 1.5:
            found.append(Caption((x + right - wide) / 2, text, True, False))
        elif after - right - 2 >= wide:
            found.append(Caption(right + 2, text, True, True))
            right += 2 + wide
        elif x - 2 - used >= wide:
            found.append(Caption(x - 2 - wide, text, True, True))
        else:
            used = right
            continue
        carried, used = [], right
    return found


def _block(svg: Svg, row: Row, block: Block, actor: Thing, style: ActorStyle, y: float) -> None:
    overview, task = row.overview, block.task
    assert overview is not None
    x = overview.x(block.start)
    wide = max(overview.x(block.end) - x, 1.2)
    label = f"{actor.title}: {task_words(task)[0]}, {clock(block.start)}, {minutes(block.end - block.start)}"
    data = {"data-task": task.name, "data-actor": actor.name, "data-place": source_place(task.decl)}
    with svg.group("block", label, data=data):
        dash = RANK_DASH.get(task.rank, "")
        svg.rect(x, y, wide, BLOCK, "f-tag s-ink", stroke_width=1.3 if dash else 0.8, stroke_dasharray=dash)
        if wide > NARROW:
            svg.rect(x + 0.5, y + 0.5, SPINE, BLOCK - 1, "", fill=svg.pattern(style))


def _legend(styles: dict[Thing, ActorStyle], views: list[View]) -> list[tuple[Sign, str]]:
    def block(dash: str) -> Sign:
        def draw(svg: Svg, x: float, y: float) -> None:
            wide = 1.3 if dash else 0.8
            svg.rect(x - 12, y - 5, 24, 10, "f-tag s-ink", stroke_width=wide, stroke_dasharray=dash)

        return draw

    def limit(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 11, y - 4, 20, 8, "s-loud", stroke_width=0.7, fill=svg.hatch())
        svg.line(x + 10, y - 5.5, x + 10, y + 5.5, "s-loud", 3)

    def end(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 11, y - 2.6, 22, 5.2, "f-paper s-ink", stroke_width=0.9)
        diamond(svg, x - 3, y)

    def dark(svg: Svg, x: float, y: float) -> None:
        svg.rect(x - 12, y - 3, 24, 6, "f-dusk s-hair", stroke_width=0.5)

    crew = {actor: style for actor, style in styles.items() if any(actor in view.own for view in views)}
    return [
        *badge_legend(crew),
        (block(""), "at a task, required"),
        (block(RANK_DASH["wanted"]), "wanted: may be dropped"),
        (block(RANK_DASH["get-ahead"]), "get-ahead: if there is time"),
        (end, "the end, between every step quick and every step slow"),
        (limit, "reserve and limit"),
        (dark, "dark"),
    ]
