"""Reading records of rehearsals: CSV with the columns step, run, minutes. What cannot be read is told, row by row."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator
from typing import NamedTuple

COLUMNS = ("step", "run", "minutes")
MOST_MINUTES = 100_000.0
_NUMBER = re.compile(r"\d+(\.\d*)?|\.\d+")


class Row(NamedTuple):
    """line: of the file. minutes: above nothing."""

    path: str
    line: int
    step: str
    run: str
    minutes: float


class Fault(NamedTuple):
    path: str
    line: int
    text: str


def read_log(path: str, data: bytes) -> tuple[list[Row], list[Fault]]:
    """The rows of one file. Columns may stand in any order, and others beside them are passed over."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return [], [Fault(path, 1 + data.count(b"\n", 0, error.start), f"it is not UTF-8 (byte {error.start})")]
    rows: list[Row] = []
    faults: list[Fault] = []
    reader = csv.reader(text.splitlines(keepends=True), strict=True)
    lines = _lines(reader, lambda line, why: faults.append(Fault(path, line, why)))
    head = next(lines, None)
    if head is None:
        return [], faults or [Fault(path, 1, f"the file is empty: its first line names the columns {_named(COLUMNS)}")]
    names = [cell.strip().lower() for cell in head[1]]
    missing = [name for name in COLUMNS if name not in names]
    twice = [name for name in COLUMNS if names.count(name) > 1]
    if missing or twice:
        what = f"{_named(missing)} missing" if missing else f"{_named(twice)} twice"
        return [], [Fault(path, head[0], f"the first line names the columns {_named(COLUMNS)}: {what}")]
    places = [names.index(name) for name in COLUMNS]
    for line, cells in lines:
        if len(cells) != len(names):
            faults.append(Fault(path, line, f"{len(cells)} cells where the first line has {len(names)} columns"))
            continue
        step, run, minutes = (cells[place].strip() for place in places)
        empty = [name for name, cell in zip(COLUMNS, (step, run, minutes), strict=True) if not cell]
        if empty:
            faults.append(Fault(path, line, f"nothing under {_named(empty)}"))
        elif not _NUMBER.fullmatch(minutes) or not 0 < float(minutes) <= MOST_MINUTES:
            faults.append(Fault(path, line, f"{minutes[:40]} is no number of minutes above 0, as 12 or 12.5"))
        else:
            rows.append(Row(path, line, step, run, float(minutes)))
    return rows, faults


def _lines(reader: Iterator[list[str]], fault: Callable[[int, str], None]) -> Iterator[tuple[int, list[str]]]:
    """Rows that are not empty, with the line each begins on. A file that is no CSV from a line on is read up to it."""
    before = 0
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            fault(before + 1, f"from here on it is not CSV ({error})")
            return
        line, before = before + 1, reader.line_num  # type: ignore[attr-defined]
        if any(cell.strip() for cell in cells):
            yield line, cells


def _named(names: tuple[str, ...] | list[str]) -> str:
    return ", ".join(names)
