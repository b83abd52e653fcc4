"""Numbers drawn for a forecast: a counter-based stream for each step, and the quantiles of its three-point duration.

A duration of least, likely and most is beta-PERT (Malcolm, Roseboom, Clark and Fazar 1959; in this form Vose 2008): a
beta distribution between least and most whose two parameters sum to 6, so its mean is (least + 4 likely + most) / 6.
Scaled to [0, 1] it has one parameter, where the likely value stands between the ends; so one table of quantiles serves
every step. Quantiles are looked up by a normal number (a Gaussian copula), which is how steps share a slow day.

Draws come from Philox 4x64-10 (Salmon, Moraes, Dror and Shaw 2011): a step's stream is a function of the seed and the
step's own key, and sample ``k`` of it is at counter ``k // 16``. So neither the order of the work nor the size of its
blocks changes a number, and a step that an edit leaves alone keeps its draws.
"""

from __future__ import annotations

from functools import cache
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Row = NDArray[np.float32]

LEVELS = 1 << 16  # equally likely levels a normal number is drawn from: the last is 1 in 65 536
PER_COUNT = 16  # draws of 16 bits from one count of the generator
CELLS = 8192  # cells of a quantile row, over normal numbers from -REACH to REACH
REACH = 5.12
SCALE = CELLS / (2 * REACH)
SHAPES = 64  # the table's rows: where the likely value stands, in steps of 1/64
_FINE = 8192


@cache
def normal_levels() -> NDArray[np.float64]:
    """The mean of the standard normal in each of `LEVELS` equally likely classes, ascending: mean exactly 0, variance
    1 to within 2e-5."""
    import numpy as np

    normal = NormalDist()
    half = LEVELS // 2
    edges = [normal.inv_cdf(k / LEVELS) for k in range(1, half)] + [0.0]
    heights = np.array([0.0, *(normal.pdf(z) for z in edges)])
    below = -(heights[1:] - heights[:-1]) * LEVELS  # E[z in a class] = (pdf(low) - pdf(high)) / P
    return np.concatenate([below, -below[::-1]])


@cache
def _middles() -> NDArray[np.float64]:
    """The normal probability at the middle of each cell."""
    import numpy as np

    normal = NormalDist()
    half = [normal.cdf(-REACH + (k + 0.5) / SCALE) for k in range(CELLS // 2)]
    low = np.array(half)
    return np.concatenate([low, 1.0 - low[::-1]])


@cache
def unit_row(shape: int) -> Row:
    """Quantiles of the beta distribution of 1 + 4 s and 5 - 4 s, for s = shape / `SHAPES`, at the middle of each cell.

    By the trapezium rule on a grid that is dense at both ends; within 2e-5 of exact ones."""
    import numpy as np

    stand = shape / SHAPES
    turn = np.linspace(0.0, np.pi, _FINE + 1)
    x = (1.0 - np.cos(turn)) / 2
    # dF = x^(a-1) (1-x)^(b-1) dx, with dx = sin(turn) / 2 dturn and sin(turn) = 2 sqrt(x (1-x)): no end is infinite.
    density = x ** (4 * stand + 0.5) * (1.0 - x) ** (4 - 4 * stand + 0.5)
    mass = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2)])
    return np.interp(_middles(), mass / mass[-1], x).astype(np.float32)


def quantile_row(least: float, likely: float, most: float) -> Row:
    """Seconds of a three-point duration at the middle of each cell; between two shapes of the table, in proportion."""
    import numpy as np

    width = most - least
    stand = (likely - least) / width * SHAPES
    shape = min(int(stand), SHAPES - 1)
    part = stand - shape
    row = unit_row(shape) * np.float32(width * (1.0 - part))
    if part:
        row += unit_row(shape + 1) * np.float32(width * part)
    row += np.float32(least)
    return row


class Stream:
    """Numbered draws: the same (seed, key, place) gives the same numbers, whatever was drawn before."""

    def __init__(self, seed: int) -> None:
        import numpy as np

        self._source = np.random.Philox(key=0)
        self._state: Any = self._source.state
        self._state["buffer_pos"] = 4  # nothing left over from an earlier count
        self._seed = np.uint64(seed & (1 << 64) - 1)

    def levels(self, key: int, first: int, count: int) -> NDArray[np.uint16]:
        """Draws ``first`` to ``first + count`` of the stream of a key, each a level of `LEVELS`. first: a multiple of
        `PER_COUNT`."""
        at = self._state["state"]
        at["key"][0] = self._seed
        at["key"][1] = key & (1 << 64) - 1
        at["counter"][:] = (first // PER_COUNT, 0, 0, 0)
        self._source.state = self._state
        words = self._source.random_raw(-(-count // 4)).astype("<u8", copy=False)
        drawn: NDArray[np.uint16] = words.view("<u2")[:count]
        return drawn
