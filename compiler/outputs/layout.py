"""Where places stand in a schematic: on a grid, along the longest way from home, with side branches above and below.

Computed from the paths alone; the same campaign gives the same picture. No two places share a cell, and ways run
straight between neighbours or in the gutters between the cells, so nothing crosses a place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

from jackstay.model.records import Path, Thing

Cell = tuple[int, int]  # column, row
Point = tuple[float, float]
COLUMNS = 6  # of a main line before it turns back
GUTTER, EDGE = 24.0, 10.0  # between columns; round the whole
ROW_GUTTER = 21.0
LANES = 4  # lines beside one another that stay apart


def on_grid(places: Sequence[Thing], paths: Sequence[Path]) -> dict[Thing, Cell]:
    """Each place's cell; columns and rows count from 0."""
    near: dict[Thing, list[tuple[Thing, float]]] = {place: [] for place in places}
    for path in paths:
        if path.a in near and path.b in near:
            near[path.a].append((path.b, float(path.length.value)))
            near[path.b].append((path.a, float(path.length.value)))
    cells: dict[Thing, Cell] = {}
    taken: set[Cell] = set()
    alone: list[Thing] = []
    for root in sorted(places, key=lambda one: (not one.kind.inside, one.index)):
        if root in cells:
            continue
        if not near[root]:
            alone.append(root)
            continue
        _component(root, near, cells, taken)
    for place in alone:
        _put(place, _free(cells, taken, None), cells, taken)
    return _from_zero(cells)


def _component(
    root: Thing, near: dict[Thing, list[tuple[Thing, float]]], cells: dict[Thing, Cell], taken: set[Cell]
) -> None:
    above, far = _tree(root, near)
    children: dict[Thing, list[Thing]] = {}
    for place, parent in above.items():
        if parent is not None:
            children.setdefault(parent, []).append(place)
    spine = [max(far, key=lambda one: (far[one], -one.index))]
    while above[spine[-1]] is not None:
        parent = above[spine[-1]]
        assert parent is not None
        spine.append(parent)
    spine.reverse()
    first = max((row for _, row in taken), default=-3) + 3
    for number, place in enumerate(spine):
        row, column = divmod(number, COLUMNS)
        _put(place, (column if row % 2 == 0 else COLUMNS - 1 - column, first + row), cells, taken)
    side = 1
    for place in spine:
        for child in children.get(place, []):
            if child not in cells:
                _branch(child, place, side, children, cells, taken)
                side = -side


def _tree(
    root: Thing, near: dict[Thing, list[tuple[Thing, float]]]
) -> tuple[dict[Thing, Thing | None], dict[Thing, float]]:
    """(parent on the shortest way to the root, length of that way) of all that is connected."""
    far = {root: 0.0}
    above: dict[Thing, Thing | None] = {root: None}
    queue = [(0.0, root.index, root)]
    while queue:
        length, _, place = heappop(queue)
        if length > far[place]:
            continue
        for other, more in near[place]:
            if other not in far or length + more < far[other]:
                far[other] = length + more
                above[other] = place
                heappush(queue, (far[other], other.index, other))
    return above, far


def _branch(
    place: Thing,
    parent: Thing,
    side: int,
    children: dict[Thing, list[Thing]],
    cells: dict[Thing, Cell],
    taken: set[Cell],
) -> None:
    """A side branch and what hangs on it: off the main line, then along it."""
    queue = [(place, parent)]
    for one, origin in queue:
        column, row = cells[origin]
        wanted = [(column, row + side), (column, row - side), (column + 1, row), (column - 1, row)]
        if one is not place:
            wanted = [(column + 1, row), (column, row + side), (column - 1, row), (column, row - side)]
        cell = next((c for c in wanted if c not in taken and 0 <= c[0] < COLUMNS), None)
        _put(one, cell or _free(cells, taken, cells[origin]), cells, taken)
        queue += [(child, one) for child in children.get(one, []) if child not in cells]


def _free(cells: dict[Thing, Cell], taken: set[Cell], by: Cell | None) -> Cell:
    """The free cell nearest to one; without one, the first free cell in the rows that are there."""
    rows = [row for _, row in taken] or [0]
    columns = max((column for column, _ in taken), default=0)
    if by is None:
        order = [(c, r) for r in range(min(rows), max(rows) + 1) for c in range(columns + 1)]
        return next((cell for cell in order if cell not in taken), (0, max(rows) + (1 if taken else 0)))
    around = [(c, r) for r in range(min(rows) - 1, max(rows) + 2) for c in range(COLUMNS)]
    return min(
        (cell for cell in around if cell not in taken),
        key=lambda cell: (abs(cell[0] - by[0]) + abs(cell[1] - by[1]), cell[1], cell[0]),
    )


def _put(place: Thing, cell: Cell, cells: dict[Thing, Cell], taken: set[Cell]) -> None:
    cells[place] = cell
    taken.add(cell)


def _from_zero(cells: dict[Thing, Cell]) -> dict[Thing, Cell]:
    """Without empty rows and columns."""
    rows = {row: at for at, row in enumerate(sorted({row for _, row in cells.values()}))}
    columns = {column: at for at, column in enumerate(sorted({column for column, _ in cells.values()}))}
    return {place: (columns[column], rows[row]) for place, (column, row) in cells.items()}


@dataclass(frozen=True, slots=True)
class Box:
    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height


@dataclass(slots=True)
class Layout:
    """Every place's cell and box, in points from the picture's own corner."""

    cells: dict[Thing, Cell]
    boxes: dict[Thing, Box]
    width: float
    height: float

    def way(self, a: Thing, b: Thing, lane: int = 0) -> list[Point]:
        """The corners of a line from one place's box to another's, in the gutters. lane: 0 for a path itself; others
        run beside it: below a level line, to the left of an upright one, where no length is written."""
        box, other = self.boxes[a], self.boxes[b]
        (column, row), (to_column, to_row) = self.cells[a], self.cells[b]
        aside = 3.6 * ((lane - 1) % LANES + 1) if lane else 0.0
        if row == to_row and abs(column - to_column) == 1:
            y = box.y + 11 + aside
            return [(box.right, y), (other.x, y)] if to_column > column else [(box.x, y), (other.right, y)]
        if column == to_column and abs(row - to_row) == 1:
            x = box.x + box.width / 2 - aside
            return [(x, box.bottom), (x, other.y)] if to_row > row else [(x, box.y), (x, other.bottom)]
        start, end = box.x + box.width / 2 - 9 - aside, other.x + other.width / 2 - 9 - aside
        leave, arrive = self._level(row, to_row >= row, aside), self._level(to_row, to_row <= row, aside)
        out = (start, box.bottom if to_row >= row else box.y)
        into = (end, other.bottom if to_row <= row else other.y)
        if abs(leave - arrive) < 0.01:
            return [out, (start, leave), (end, leave), into]
        beside = self._beside(column if to_column >= column else to_column, aside)
        return [out, (start, leave), (beside, leave), (beside, arrive), (end, arrive), into]

    def _beside(self, column: int, aside: float) -> float:
        """In the gutter to the right of a column, close to it."""
        box = next(self.boxes[one] for one, cell in self.cells.items() if cell[0] == column)
        return box.right + 1.6 + aside / 8

    def _level(self, row: int, below: bool, aside: float) -> float:
        """In the gutter below or above a row, in its upper half; lengths are written in the lower."""
        box = next(self.boxes[one] for one, cell in self.cells.items() if cell[1] == row)
        rows = max(cell[1] for cell in self.cells.values())
        if below:
            return box.bottom + (2.6 + aside / 2 if row < rows else 2 + aside / 3)
        return box.y - (ROW_GUTTER - 2.6 - aside / 2 if row > 0 else 8 - aside / 3)


def arrange(cells: dict[Thing, Cell], width: float, heights: dict[Thing, float]) -> Layout:
    """Boxes of one width on the grid; a row is as high as the highest in it."""
    rows: dict[int, float] = {}
    for place, (_, row) in cells.items():
        rows[row] = max(rows.get(row, 0.0), heights[place])
    tops: dict[int, float] = {}
    y = EDGE
    for row in sorted(rows):
        tops[row] = y
        y += rows[row] + ROW_GUTTER
    boxes = {
        place: Box(EDGE + column * (width + GUTTER), tops[row], width, rows[row])
        for place, (column, row) in cells.items()
    }
    columns = max((column for column, _ in cells.values()), default=0) + 1
    return Layout(cells, boxes, 2 * EDGE + columns * width + (columns - 1) * GUTTER, y - ROW_GUTTER + EDGE)


def least_width(cells: dict[Thing, Cell], box: float) -> float:
    columns = max((column for column, _ in cells.values()), default=0) + 1
    return 2 * EDGE + columns * box + (columns - 1) * GUTTER
