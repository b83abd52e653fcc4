"""The layout of one actor's lane in the window of one sheet: what gets its words, what gets a number, how high it is.

From top to bottom: flags in rows, the names of places, the line with the bars that hang from it, slack, numbers of bars
too narrow for their own. Nothing is drawn here; positions are those on the sheet, heights are counted from the lane's
top."""

from __future__ import annotations

from dataclasses import dataclass, field

from jackstay.model.records import Thing
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.crewline_key import AIR, LINE, Key, Strip
from jackstay.outputs.crewline_parts import Bar, Flag, Lane, Post, Wait
from jackstay.outputs.lettering import text_width, wrap_text
from jackstay.outputs.look import SMALL, STRONG, ActorStyle, step_link
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place
from jackstay.timing.records import Times

FLAG_ROW = 9.4
PLACES = 11.0
THIN = 11.5
HATCH = 5.0
CLEAR = 3.0  # between a text and an upright line
SLACK = 6.0
NUMBER_ROW = 9.0
FOOT = 6.0
PENNANT = 6.5
POINT = 3.0  # of a bar that goes on on another sheet
SHIFT = 26.0  # how far from its bar a number may stand
MOST_ROWS = 8  # then it is told in the key, whatever lies over it
NAME_ROOM = 106.0  # beside a lane
NAME_LINE = 10.5


@dataclass(slots=True)
class Frame:
    """The window of a sheet. left, right: of the chart on the sheet. lines: of words in a bar, at most."""

    view: View
    times: Times
    key: Key
    styles: dict[Thing, ActorStyle]
    start: float
    left: float
    right: float
    lines: int

    def x(self, position: float) -> float:
        return self.left + position - self.start

    def shows(self, left: float, right: float) -> bool:
        """Whether some of a stretch is in the window; one without a length belongs to the window it begins."""
        if left == right:
            return self.left - 0.01 <= self.x(left) < self.right - 0.01
        return self.x(right) > self.left + 0.01 and self.x(left) < self.right - 0.01

    def begins(self, left: float) -> bool:
        return self.left - 0.01 <= self.x(left) < self.right - 0.01

    def clip(self, left: float, right: float) -> tuple[float, float]:
        return max(self.x(left), self.left), min(self.x(right), self.right)

    def letters(self, actors: "tuple[Thing, ...] | list[Thing]") -> str:
        return "".join(self.styles[actor].letter for actor in actors if actor in self.styles)


@dataclass(slots=True)
class PlacedBar:
    """again: it begins on an earlier sheet. cut_left, cut_right: it is pointed there, as it goes on."""

    bar: Bar
    left: float
    right: float
    cut_left: bool
    cut_right: bool
    lines: list[str]
    number: str = ""
    below: "tuple[float, int] | None" = None  # where its number stands: middle, row
    height: float = THIN
    again: bool = False


@dataclass(slots=True)
class PlacedWait:
    wait: Wait
    left: float
    right: float
    words_left: float
    lines: list[str]
    number: str = ""
    below: "tuple[float, int] | None" = None


@dataclass(slots=True)
class PlacedFlag:
    """turn: 1, it flies to the right; -1, to the left."""

    flag: Flag
    x: float
    row: int
    turn: int
    words: str
    number: bool


@dataclass(slots=True)
class PlacedPost:
    post: Post
    x: float
    words: str
    words_left: float
    here: bool  # the post itself stands in the window


@dataclass(slots=True)
class Crossings:
    """Upright lines on the sheet, by x: through what is above a lane's line, through its bars, through what is
    below."""

    above: list[float] = field(default_factory=list)
    between: list[float] = field(default_factory=list)
    below: list[float] = field(default_factory=list)


class LaneSketch:
    def __init__(self, frame: Frame, lane: Lane, crossings: Crossings) -> None:
        self.frame = frame
        self.lane = lane
        self.crossings = crossings
        # its name and figures stand beside it
        self.least = 29.0 + NAME_LINE * len(name_lines(lane.actor))
        self.bars: list[PlacedBar] = []
        self.waits: list[PlacedWait] = []
        self.flags: list[PlacedFlag] = []
        self.posts: list[PlacedPost] = []
        self._last: dict[int, float] = {}  # of each row of numbers, how far it is used
        self.slack_words: list[tuple[float, int, str]] = []
        self.number_rows: list[Strip] = []
        self.flag_rows: list[Strip] = []
        self._bars()
        written = [one for one in self.bars if one.bar.sort != "inserted"]
        lines = max((len(one.lines) for one in written), default=0)
        self.bar_height = max(lines * LINE + 4.5, THIN if not written else THIN + 6)
        if any(one.bar.blank for one in written):
            self.bar_height += HATCH
        self._waits()
        for one in written:
            one.height = self.bar_height
        self._flags()
        self._posts()
        self._numbers()
        self.has_slack = any(one.bar.slack and not one.cut_right for one in self.bars)
        self._slack_words()

    # --- heights -----------------------------------------------------------------------------------------------------

    @property
    def line(self) -> float:
        """Of the line, from the lane's top."""
        return len(self.flag_rows) * FLAG_ROW + PLACES + max(0.0, self.least - self._natural()) / 3

    @property
    def numbers_top(self) -> float:
        return self.line + self.bar_height + (SLACK if self.has_slack else 2)

    @property
    def height(self) -> float:
        return max(self._natural(), self.least)

    def _natural(self) -> float:
        slack = SLACK if self.has_slack else 2
        rows = len(self.flag_rows) * FLAG_ROW + len(self.number_rows) * NUMBER_ROW
        return rows + PLACES + self.bar_height + slack + FOOT

    # --- bars and waits ----------------------------------------------------------------------------------------------

    def _bars(self) -> None:
        frame = self.frame
        for bar in self.lane.bars:
            if not frame.shows(bar.left, bar.right):
                continue
            left, right = frame.clip(bar.left, bar.right)
            cut_left, cut_right = frame.x(bar.left) < frame.left - 0.01, frame.x(bar.right) > frame.right + 0.01
            again = cut_left
            if right - left < 2 * POINT:
                cut_left = cut_right = False
            placed = PlacedBar(bar, left, right, cut_left, cut_right, [], again=again)
            self.bars.append(placed)
            room = right - left - 3.6 - POINT * (cut_left + cut_right)
            if bar.sort == "inserted":
                words = bar.words.split(" (")[0]
                placed.lines = [words] if text_width(words, SMALL) <= room else []
                continue
            lines = fitting(bar.words, room, frame.lines)
            if lines:
                placed.lines = lines
            else:
                placed.number = str(self._keyed_bar(bar))
                if text_width(placed.number, SMALL, True) <= right - left - 1.4:
                    placed.lines = [""]

    def _keyed_bar(self, bar: Bar) -> int:
        frame, step = self.frame, bar.step
        words = f"{bar.words}, {minutes(frame.times.durations[step.index])} · {source_place(step.entry.at)}"
        when = clock(frame.times.start[step.index], frame.times.start_open[step.index])
        who = frame.letters(step.cast)
        return frame.key.number("step", step.index, when, who, words, step_link(frame.view, step))

    def _waits(self) -> None:
        frame = self.frame
        rows = int((self.bar_height - HATCH - 2) / LINE)
        for wait in self.lane.waits:
            if wait.right <= wait.left or not frame.shows(wait.left, wait.right):
                continue
            left, right = frame.clip(wait.left, wait.right)
            strip = Strip()
            for x in self.crossings.between:
                strip.take(x - CLEAR, x + CLEAR)
            hole = strip.widest(left, right) or (left, left)
            room = hole[1] - hole[0] - 3
            placed = PlacedWait(wait, left, right, hole[0] + 1.5, [])
            for words in wait.words:
                lines = fitting(words, room, min(3, frame.lines))
                if lines:
                    placed.lines = lines
                    break
            if placed.lines and len(placed.lines) > rows:
                rows = len(placed.lines)
                self.bar_height = max(self.bar_height, HATCH + 2 + rows * LINE + 1)
            if not placed.lines:
                placed.number = str(self._keyed_wait(wait))
                if text_width(placed.number, SMALL, True) <= room + 2:
                    placed.lines = [placed.number]
            self.waits.append(placed)

    def _keyed_wait(self, wait: Wait) -> int:
        frame = self.frame
        column = frame.view.flow.columns.get(self.lane.actor, 0)
        index = wait.step.index * 1000 + column
        data = step_link(frame.view, wait.step)
        words = f"{wait.words[0]}, {wait.length}"
        return frame.key.number("wait", index, clock(wait.since), frame.letters([self.lane.actor]), words, data)

    # --- flags and posts ---------------------------------------------------------------------------------------------

    def _flags(self) -> None:
        """Row by row from the line up: what finds room between the poles that go higher flies there."""
        frame = self.frame
        pending: list[tuple[Flag, float]] = []
        for flag in self.lane.flags:
            x = frame.x(flag.at)
            first = flag.at <= 0.01 and x >= frame.left - 0.01
            if frame.left + 0.01 < x <= frame.right + 0.01 or first:
                pending.append((flag, min(x, frame.right)))
        while pending:
            row = len(self.flag_rows)
            strip = Strip()
            for x in self.crossings.above:
                strip.take(x - CLEAR, x + CLEAR)
            self.flag_rows.append(strip)
            poles = [x for _, x in pending]
            left: list[tuple[Flag, float]] = []
            for flag, x in pending:
                if not self._fly(flag, x, row, strip, poles):
                    left.append((flag, x))
            pending = left

    def _fly(self, flag: Flag, x: float, row: int, strip: Strip, poles: list[float]) -> bool:
        """Whether it finds room in the row, with its words, or above the lowest row with its number."""
        frame = self.frame
        others = [pole for pole in poles if abs(pole - x) > 1]
        for number in (False, True) if row else (False,):
            words = str(self._keyed_flag(flag)) if number else flag.words
            whole = PENNANT + text_width(words, SMALL, number) + AIR
            for turn, (a, b) in ((1, (x + CLEAR, x + whole)), (-1, (x - whole, x - CLEAR))):
                inside = a >= frame.left - 1 and b <= frame.right + 3
                crowded = not strip.free(a, b) or any(a < pole < b for pole in others)
                if inside and (not crowded or row >= MOST_ROWS):
                    strip.take(a, b)
                    self.flags.append(PlacedFlag(flag, x, row, turn, words, number))
                    return True
        return False

    def _keyed_flag(self, flag: Flag) -> int:
        frame = self.frame
        words = f'calls "{flag.words}"' if flag.sort == "call" else flag.words
        data = step_link(frame.view, flag.step)
        index = flag.step.index if flag.sort == "call" else flag.step.index + 1_000_000
        return frame.key.number(flag.sort, index, clock(flag.when), frame.letters([self.lane.actor]), words, data)

    def _posts(self) -> None:
        frame, strip = self.frame, Strip()
        for x in self.crossings.above:
            strip.take(x - CLEAR, x + CLEAR)
        for flag in self.flags:
            strip.take(flag.x - 1.2, flag.x + 1.2)
        posts = self.lane.posts
        for post in posts:
            x = frame.x(post.at)
            strip.take(x - 1.8, x + 1.8)
        end = frame.x(self.lane.end)
        for number, post in enumerate(posts):
            x = frame.x(post.at)
            until = frame.x(posts[number + 1].at) if number + 1 < len(posts) else max(end, x)
            here = frame.left - 0.01 <= x <= frame.right + 0.01
            left, right = max(x, frame.left), min(until, frame.right)
            if right <= left and not here:
                continue
            placed = PlacedPost(post, x, "", left, here)
            for words in post.words:
                at = strip.first(left, right, text_width(words, SMALL) + AIR)
                if at is not None:
                    placed.words, placed.words_left = words, at + AIR / 2
                    break
            self.posts.append(placed)

    # --- below the bars ----------------------------------------------------------------------------------------------

    def _numbers(self) -> None:
        items: list[PlacedBar | PlacedWait] = [one for one in self.bars if one.number and not one.lines]
        items += [one for one in self.waits if one.number and not one.lines]
        for item in sorted(items, key=lambda one: (one.left + one.right, one.left)):
            wide = text_width(item.number, SMALL, True)
            middle = (item.left + item.right) / 2
            item.below = self._number_spot(middle, wide)

    def _number_spot(self, middle: float, wide: float) -> tuple[float, int]:
        frame = self.frame
        half = wide / 2 + AIR / 2
        row = 0
        while True:
            if row == len(self.number_rows):
                strip = Strip()
                for x in self.crossings.below:
                    strip.take(x - CLEAR, x + CLEAR)
                self.number_rows.append(strip)
            strip = self.number_rows[row]
            low = max(middle - half - SHIFT, frame.left, self._last.get(row, frame.left))
            best = None
            for a, b in strip.holes(low, min(middle + half + SHIFT, frame.right + 7)):
                if b - a >= 2 * half:
                    at = min(max(middle, a + half), b - half)
                    if best is None or abs(at - middle) < abs(best - middle):
                        best = at
            if best is not None:
                strip.take(best - half, best + half)
                self._last[row] = best + half
                if row:  # its leader
                    for lower in self.number_rows[:row]:
                        lower.take(best - 0.5, best + 0.5)
                return best, row
            if row >= MOST_ROWS:
                strip.take(middle - half, middle + half)
                return middle, row
            row += 1

    def _slack_words(self) -> None:
        """How long the slack is, where the first row of numbers has room for it."""
        if not self.number_rows:
            strip = Strip()
            for x in self.crossings.below:
                strip.take(x - CLEAR, x + CLEAR)
            self.number_rows.append(strip)
        strip = self.number_rows[0]
        for one in self.bars:
            if not one.bar.slack or one.cut_right:
                continue
            words = f"slack {minutes(one.bar.slack)}"
            wide = text_width(words, SMALL) + AIR
            x = min(self.frame.x(one.bar.slack_right), self.frame.right)
            at = strip.first(max(one.right, x - wide - 8), min(x + wide + 8, self.frame.right), wide)
            if at is not None:
                strip.take(at, at + wide)
                self.slack_words.append((at + AIR / 2, 0, words))
        numbered = any(one.below for one in self.bars) or any(one.below for one in self.waits)
        if not numbered and not self.slack_words:
            self.number_rows = []


def name_lines(actor: Thing) -> list[str]:
    return wrap_text(actor.title, STRONG, NAME_ROOM - 17, 2, True)


def fitting(words: str, room: float, most: int) -> list[str]:
    """The words in at most so many lines, no word broken but at a hyphen; nothing where that cannot be."""
    if room <= 0 or text_width(words, SMALL) > room * most:
        return []
    for word in words.split():
        if text_width(word, SMALL) > room and not all(line.endswith("-") for line in wrap_text(word, SMALL, room)[:-1]):
            return []
    lines = wrap_text(words, SMALL, room)
    return lines if len(lines) <= most else []
