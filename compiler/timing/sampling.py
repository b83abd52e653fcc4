"""Sampled times of an excursion: its steps in order, each a row with one number for each sample.

Only rows that something still waits for are kept, and of the critical path one bit for each sample and each thing
waited for, so memory grows with the width of the plan and not with its length. Rows are single precision: a
thousandth of a second in a day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from jackstay.timing.sampling_network import Network, Window, key_of
from jackstay.timing.sampling_tables import PER_COUNT, REACH, SCALE, Stream, normal_levels, quantile_row

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from jackstay.timing.sampling_tables import Row

    Marks = NDArray[np.bool_]
    Packed = NDArray[np.uint8]

BLOCK = 16_384  # samples worked on at a time
_KEPT_ROWS = 128  # quantile rows of different durations kept from one block to the next


class Common(NamedTuple):
    """Shares of the spread: common to everybody on a run, and common to all that one actor does on it."""

    run: float = 0.0
    each: float = 0.0


class Target(NamedTuple):
    """The latest of some events, each with so many seconds added; of none, the excursion's start."""

    events: tuple[tuple[int, float], ...]


class Samples(NamedTuple):
    """latest: a row for each target, a column for each sample, in seconds from the excursion's start. critical: for
    each step in how many samples the target asked for hangs on its length."""

    latest: NDArray[np.float32]
    critical: tuple[int, ...]


def sample(
    network: Network,
    targets: Sequence[Target],
    samples: int,
    seed: int,
    common: Common = Common(),  # noqa: B008 - a tuple of numbers
    critical_to: int | None = None,
    block: int = BLOCK,
    progress: Callable[[int], None] | None = None,
) -> Samples:
    """Draw ``samples`` runs of the network. critical_to: the target that steps are critical to; None: not asked.

    block: samples at a time, a multiple of 16; it changes nothing but speed and memory. progress: told the samples done
    after each block. Sums of single rows differ from exact ones by rounding only."""
    import numpy as np

    if block % PER_COUNT or samples < 1:
        raise ValueError("a block is a multiple of 16, and there is at least one sample")
    latest = np.full((len(targets), samples), -np.inf, dtype=np.float32)
    latest[[not target.events for target in targets]] = 0.0
    critical = [0] * network.steps
    draws = Draws(network, seed, common)
    layout = _Layout(network, targets, critical_to)
    for first in range(0, samples, block):
        count = min(block, samples - first)
        draws.begin(first, count)
        winners = _forward(layout, draws, latest[:, first : first + count], count)
        if critical_to is not None:
            _backward(layout, winners, count, critical)
        if progress is not None:
            progress(first + count)
    return Samples(latest, tuple(critical))


class Draws:
    """Durations of the steps for one block of samples after another."""

    def __init__(self, network: Network, seed: int, common: Common) -> None:
        import numpy as np

        self._network = network
        self._stream = Stream(seed)
        self._run, self._each = sqrt(common.run), sqrt(common.each)
        own = sqrt(max(0.0, 1.0 - common.run - common.each))
        self._levels = (normal_levels() * (own * SCALE)).astype(np.float32)
        self._rows: dict[tuple[float, float, float], Row] = {}
        self._first = self._count = 0
        self._days: dict[str, Row | np.float32] = {}

    def begin(self, first: int, count: int) -> None:
        """The samples from ``first`` on; first: a multiple of 16."""
        import numpy as np

        self._first, self._count = first, count
        self._days = {}
        self._middle = np.float32(REACH * SCALE)
        self._cell = np.empty(count, dtype=np.float32)
        self._at = np.empty(count, dtype=np.intp)
        self._common: Row | np.float32 = self._middle
        if self._run:
            self._common = self._normal("", self._run) + self._middle

    def _normal(self, name: str, weight: float) -> Row:
        import numpy as np

        levels = self._stream.levels(key_of(f"day of {self._network.name}/{name}"), self._first, self._count)
        row: Row = (normal_levels()[levels] * (weight * SCALE)).astype(np.float32)
        return row

    def _day(self, lead: str) -> Row | np.float32:
        """What all steps of one lead share, in cells of a quantile row."""
        if lead not in self._days:
            self._days[lead] = self._common + self._normal(lead or "nobody", self._each) if self._each else self._common
        return self._days[lead]

    def step(self, step: int) -> Row | float:
        """Seconds of a step in each sample; one number where it is certain."""
        import numpy as np

        bounds = self._network.range_of(step)
        if bounds[0] == bounds[2]:
            return bounds[1]
        row = self._rows.get(bounds)
        if row is None:
            row = quantile_row(*bounds)
            if len(self._rows) < _KEPT_ROWS:
                self._rows[bounds] = row
        levels = self._stream.levels(self._network.keys[step], self._first, self._count)
        np.take(self._levels, levels, out=self._cell, mode="clip")
        np.add(self._cell, self._day(self._network.lead[step]), out=self._cell)
        np.copyto(self._at, self._cell, casting="unsafe")
        found: Row = np.take(row, self._at, mode="clip")
        return found


class _Layout:
    """Who waits for whom, worked out once for all blocks. uses: how many read an event's row. reached: by event, the
    targets that it counts for."""

    def __init__(self, network: Network, targets: Sequence[Target], critical_to: int | None) -> None:
        self.network = network
        self.critical_to = critical_to
        self.final = {} if critical_to is None else dict(targets[critical_to].events)
        self.uses = [0] * (2 * network.steps)
        for event, incoming in enumerate(network.incoming):
            self.uses[event & ~1] += event & 1
            for source, _ in incoming:
                self.uses[source] += 1
        for event in self.final:
            self.uses[event] += 1  # kept until it is known which of them is the last
        self.reached: dict[int, list[tuple[int, float]]] = {}
        for number, target in enumerate(targets):
            for event, added in target.events:
                self.reached.setdefault(event, []).append((number, added))


def _forward(layout: _Layout, draws: Draws, latest: NDArray[np.float32], count: int) -> dict[int, list[Packed]]:
    """Rows of all events; fills ``latest``. Gives, for each event that waits for several things, in which samples each
    of them was the one that it waited for (bits), and under -1 the same for the events of the critical target."""
    import numpy as np

    network, asked = layout.network, layout.critical_to is not None
    rows: dict[int, Row] = {}
    left = list(layout.uses)
    winners: dict[int, list[Packed]] = {}
    for event in network.order:
        step = event >> 1
        sources = [source for source, _ in network.incoming[event]]
        waited = [rows[source] + np.float32(gap) if gap else rows[source] for source, gap in network.incoming[event]]
        if event & 1:
            length = draws.step(step)
            begun = rows[event - 1]
            waited.insert(0, begun + np.float32(length) if isinstance(length, float) else np.add(begun, length, length))
            sources.insert(0, event - 1)
            row, moved = _latest(waited), False
        else:
            row, moved = _start(network, step, waited, count)
        if asked and (moved or len(waited) > 1):
            winners[event] = [np.packbits(one >= row) for one in waited]
        for number, added in layout.reached.get(event, ()):
            np.maximum(latest[number], row + np.float32(added) if added else row, out=latest[number])
        for source in sources:
            left[source] -= 1
            if not left[source]:
                del rows[source]
        if left[event]:
            rows[event] = row
    if layout.critical_to is not None:
        last = latest[layout.critical_to]
        winners[-1] = [np.packbits(rows[event] + np.float32(added) >= last) for event, added in layout.final.items()]
    return winners


def _latest(waited: list[Row]) -> Row:
    import numpy as np

    row = waited[0]
    if len(waited) > 1:
        row = np.maximum(row, waited[1])
        for other in waited[2:]:
            np.maximum(row, other, out=row)
    return row


def _start(network: Network, step: int, waited: list[Row], count: int) -> tuple[Row, bool]:
    """When a step starts, and whether the clock or the light has a say in it."""
    import numpy as np

    floor, window = np.float32(network.floors[step]), network.windows[step]
    if not waited:
        row = np.full(count, floor, dtype=np.float32)
    else:
        row = _latest(waited)
        if floor > 0:
            row = np.maximum(row, floor).astype(np.float32, copy=False)
    if window is not None:
        row = put_off(row, window, network.range_of(step)[2])
    return row, bool(floor > 0) or window is not None


def put_off(ready: Row, window: Window, longest: float) -> Row:
    """The first moment from ``ready`` on at which a step that takes up to ``longest`` fits into one stretch of light
    (or dark). One that never fits is not put off: its plan has a finding. A hundredth of a second is forgiven, as rows
    are rounded."""
    import numpy as np

    slip = 0.01
    dark, every, first, _ = window
    if window.lit:
        if dark <= 0 or longest > every - dark + slip:
            return ready
        into = np.mod(ready - np.float32(first), np.float32(every))
        into = np.where(ready < first, np.float32(every) - (np.float32(first) - ready), into)  # light until the first
        begun = slip if longest == 0 else -1.0  # what takes no time may be done at the last moment of the light
        short = np.where((into < dark - slip) & (into > begun) & (ready >= first), dark - into, 0.0)
        missed = np.where(into + longest > every + slip, every - into + dark, 0.0)
    else:
        if dark <= 0 or longest > dark + slip:
            return ready
        ready = np.maximum(ready, np.float32(first))
        into = np.mod(ready - np.float32(first), np.float32(every))
        short = np.zeros_like(into)
        missed = np.where(into + longest > dark + slip, every - into, 0.0)
    return (ready + np.where(short > 0, short, missed)).astype(np.float32)


def _backward(layout: _Layout, winners: dict[int, list[Packed]], count: int, critical: list[int]) -> None:
    """Follow from the end back what it hung on, and add up for each step in how many samples it did. Where two things
    were done at the same moment, it hung on both; a wait for the clock or the light ends the path."""
    import numpy as np

    network = layout.network
    hung: dict[int, Marks] = {}

    def add(event: int, marks: Marks) -> None:
        before = hung.get(event)
        hung[event] = marks if before is None else before | marks

    def bits(packed: Packed) -> Marks:
        return np.unpackbits(packed, count=count).view(np.bool_)

    for event, packed in zip(layout.final, winners[-1], strict=True):
        add(event, bits(packed))
    for event in reversed(network.order):
        marks = hung.pop(event, None)
        if marks is None:
            continue
        sources = [source for source, _ in network.incoming[event]]
        if event & 1:
            sources.insert(0, event - 1)
        won = winners.get(event)
        for number, source in enumerate(sources):
            through = marks if won is None else marks & bits(won[number])
            if source == event - 1 and event & 1:
                critical[event >> 1] += int(np.count_nonzero(through))
            add(source, through)
