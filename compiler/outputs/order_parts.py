"""Cutting an order diagram into panels, and putting panels on sheets.

A *panel* is laid out as one drawing; arrows cross it, stubs leave it. Panels are cut at tasks, and within a task only
where it alone is too large. A sheet has at most `MOST` boxes."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from jackstay.outputs.order_boxes import GROUP_HEAD, LINE, WIDTH

MOST = 40
APART = 18.7  # from one row of boxes to the next
BESIDE = 14.4
BETWEEN = 22.0  # panels of a sheet
FRAME = 18.0  # what a task's frame adds to its width


@dataclass(frozen=True, slots=True)
class Room:
    """Points for the panels of a sheet."""

    width: float
    height: float


def cut(
    units: Sequence[Sequence[str]], heights: Mapping[str, float], before: Callable[[str], list[str]], room: Room
) -> list[list[str]]:
    """The keys of each panel. heights: of every box, without stubs. before: what a box's arrows come from."""
    panels: list[list[str]] = []
    tasks = 0

    def fits(keys: Sequence[str], frames: int) -> bool:
        if len(keys) > MOST:
            return False
        wide, high = estimate(keys, heights, before, frames)
        return wide <= room.width and high <= room.height

    for unit in units:
        if panels and tasks and fits([*panels[-1], *unit], tasks + 1):
            panels[-1] += unit
            tasks += 1
            continue
        pieces: list[list[str]] = [[]]
        for key in unit:
            if pieces[-1] and not fits([*pieces[-1], key], 1):
                pieces.append([])
            pieces[-1].append(key)
        panels += pieces
        tasks = 1
    return panels


def estimate(
    keys: Sequence[str], heights: Mapping[str, float], before: Callable[[str], list[str]], frames: int
) -> tuple[float, float]:
    """About how wide and high a panel becomes: each box as high up as its arrows let it."""
    mine = set(keys)
    top: dict[str, float] = {}
    waiting = list(keys)
    while waiting:
        left = []
        for key in waiting:
            tails = [tail for tail in before(key) if tail in mine and tail != key]
            if all(tail in top for tail in tails):
                top[key] = max((top[tail] + heights[tail] + LINE + APART for tail in tails), default=0.0)
            else:
                left.append(key)
        if len(left) == len(waiting):  # tasks that take turns: as they are written
            top[left[0]] = max((top[one] for one in top), default=0.0)
            left = left[1:]
        waiting = left
    edges = [(top[key], 1) for key in keys] + [(top[key] + heights[key] + LINE, -1) for key in keys]
    most = now = 0
    for _, change in sorted(edges):
        now += change
        most = max(most, now)
    high = max(top[key] + heights[key] + LINE for key in keys)
    return most * (WIDTH + BESIDE) + FRAME * min(frames, most), high + (GROUP_HEAD if frames else 0)


def halves(keys: Sequence[str], units: Sequence[Sequence[str]]) -> list[list[str]]:
    """A panel that has come out too large, in two: at a task if it has several, else in the middle."""
    task = {key: number for number, unit in enumerate(units) for key in unit}
    cuts = [at for at in range(1, len(keys)) if task[keys[at]] != task[keys[at - 1]]] or list(range(1, len(keys)))
    at = min(cuts, key=lambda one: (abs(2 * one - len(keys)), one))
    return [list(keys[:at]), list(keys[at:])]


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a panel stands on its sheet: its number in the series, its upper left corner in the sheet's room."""

    panel: int
    x: float
    y: float


def pack(sizes: Sequence[tuple[float, float]], counts: Sequence[int], room: Room) -> list[list[Spot]]:
    """Panels on sheets, in order: beside one another while they fit, then in a row below, then on the next sheet."""
    sheets: list[list[Spot]] = []
    x = y = row = 0.0
    boxes = 0
    for number, (wide, high) in enumerate(sizes):
        beside = x + wide <= room.width and y + high <= room.height
        below = row > 0 and y + row + BETWEEN + high <= room.height
        if not sheets or boxes + counts[number] > MOST or not (beside or below):
            sheets.append([])
            x = y = row = 0.0
            boxes = 0
        elif not beside:
            x, y, row = 0.0, y + row + BETWEEN, 0.0
        sheets[-1].append(Spot(number, x, y))
        x += wide + BETWEEN
        row = max(row, high)
        boxes += counts[number]
    return sheets
