"""Numbers for what has no room for its words, and the key that tells the words. Also: what is free in a row."""

from __future__ import annotations

from dataclasses import dataclass

from jackstay.outputs.lettering import text_width, wrap_text
from jackstay.outputs.look import SMALL
from jackstay.outputs.sheet import Sheet

LINE = 8.8
COLUMNS = 4
BETWEEN = 16.0
HEAD = 13.0
AIR = 1.6  # between two texts of a row
PAGE_COLUMN_AIR = 4.0


class Strip:
    """A row of texts and whatever runs through it."""

    def __init__(self) -> None:
        self.taken: list[tuple[float, float]] = []

    def take(self, left: float, right: float) -> None:
        self.taken.append((left, right))

    def free(self, left: float, right: float) -> bool:
        return all(right <= a or b <= left for a, b in self.taken)

    def holes(self, left: float, right: float) -> list[tuple[float, float]]:
        """The free parts of a stretch, from left to right."""
        found = []
        at = left
        for a, b in sorted(self.taken):
            if b <= at:
                continue
            if a >= right:
                break
            if a > at:
                found.append((at, a))
            at = b
        if at < right:
            found.append((at, right))
        return found

    def first(self, left: float, right: float, width: float) -> float | None:
        """Where something so wide can begin."""
        return next((a for a, b in self.holes(left, right) if b - a >= width), None)

    def widest(self, left: float, right: float) -> tuple[float, float] | None:
        return max(self.holes(left, right), key=lambda hole: (hole[1] - hole[0], -hole[0]), default=None)


@dataclass(slots=True)
class Entry:
    """who: the letters of those it concerns. data: links it to its step."""

    number: int
    when: str
    who: str
    words: str
    data: dict[str, str]
    lines: list[str]


class Numbers:
    """The numbers of one excursion: the same thing keeps its number on every sheet."""

    def __init__(self) -> None:
        self.known: dict[tuple[str, int], int] = {}

    def of(self, sort: str, index: int) -> int:
        return self.known.setdefault((sort, index), len(self.known) + 1)


class Key:
    """The key of one sheet."""

    def __init__(self, numbers: Numbers, width: float) -> None:
        self.numbers = numbers
        self.column = (width - (COLUMNS - 1) * BETWEEN) / COLUMNS
        self.entries: dict[int, Entry] = {}

    def number(self, sort: str, index: int, when: str, who: str, words: str, data: dict[str, str]) -> int:
        found = self.numbers.of(sort, index)
        if found not in self.entries:
            room = self.column - _indent() - PAGE_COLUMN_AIR
            self.entries[found] = Entry(found, when, who, words, data, wrap_text(words, SMALL, room))
        return found

    def height(self) -> float:
        """Points, with its heading; 0 for an empty one."""
        rows = max((sum(len(one.lines) for one in column) for column in self.columns()), default=0)
        return HEAD + rows * LINE + 4 if rows else 0.0

    def columns(self) -> list[list[Entry]]:
        entries = [self.entries[number] for number in sorted(self.entries)]
        lines = sum(len(one.lines) for one in entries)
        most = max(-(-lines // COLUMNS), max((len(one.lines) for one in entries), default=0))
        while True:
            found = _fill(entries, most)
            if len(found) <= COLUMNS:
                return found
            most += 1

    def fits(self, room: float) -> bool:
        return self.height() <= room

    def split(self, room: float) -> "Key":
        """Keeps what fits into so many points; gives a key of the rest."""
        rest = Key(self.numbers, self.column * COLUMNS + (COLUMNS - 1) * BETWEEN)
        for number in sorted(self.entries, reverse=True):
            if self.fits(room):
                break
            rest.entries[number] = self.entries.pop(number)
        return rest

    def draw(self, sheet: Sheet, y: float) -> float:
        """Gives the y below it."""
        if not self.entries:
            return y
        svg = sheet.svg
        with svg.group("key", "Key to the numbers"):
            svg.line(sheet.left, y + 2, sheet.right, y + 2, "s-hair", 0.6)
            svg.text(sheet.left, y + 10.5, "Key to the numbers: time, who, what", SMALL, "f-soft", True)
            top = y + HEAD
            for at, column in enumerate(self.columns()):
                x = sheet.left + at * (self.column + BETWEEN)
                row = top
                for one in column:
                    self._entry(sheet, one, x, row)
                    row += len(one.lines) * LINE
        return y + self.height()

    def _entry(self, sheet: Sheet, one: Entry, x: float, y: float) -> None:
        svg = sheet.svg
        base = y + 7
        with svg.group("keyed", data=one.data):
            svg.text(x + _number_wide(), base, str(one.number), SMALL, "f-ink", True, "end")
            svg.text(x + _number_wide() + 5 + _when_wide(), base, one.when, SMALL, "f-soft", anchor="end")
            left = x + _number_wide() + _when_wide() + 10
            svg.text(left, base, one.who, SMALL, "f-ink", True, width=_who_wide())
            for number, words in enumerate(one.lines):
                svg.text(x + _indent(), base + number * LINE, words, SMALL, "f-ink")


def _fill(entries: list[Entry], most: int) -> list[list[Entry]]:
    found: list[list[Entry]] = [[]]
    used = 0
    for one in entries:
        if used and used + len(one.lines) > most:
            found.append([])
            used = 0
        found[-1].append(one)
        used += len(one.lines)
    return found


def _number_wide() -> float:
    return text_width("000", SMALL, True)


def _when_wide() -> float:
    return text_width("00:00+", SMALL)


def _who_wide() -> float:
    return text_width("WMH", SMALL, True) + 1


def _indent() -> float:
    return _number_wide() + _when_wide() + _who_wide() + 13
