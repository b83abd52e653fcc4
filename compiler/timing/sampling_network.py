"""What a forecast needs of an excursion, as plain numbers: the same order, floors and light as its schedule."""

from __future__ import annotations

from fractions import Fraction
from hashlib import blake2b
from typing import NamedTuple

from jackstay.timing.events import EventGraph
from jackstay.timing.light import DAYLIGHT
from jackstay.timing.passes import earliest
from jackstay.timing.sampling_names import identities

MOST_SECONDS = 10**12  # thirty thousand years: beyond it a time is cut, so that every number fits a single row


class Window(NamedTuple):
    """A step that may run only in light, or only in the dark, as in `timing.light`; seconds from the excursion's start.
    It starts only when the longest that it may take fits."""

    dark: float
    every: float
    first: float
    lit: bool


class Network(NamedTuple):
    """Event 2i is the start of step i, 2i + 1 its end; a step's end comes its duration after its start.

    name: of the run that a slow day is common to. order: the events, each after what it waits for. incoming: what else
    an event waits for: (event, seconds after it). ranges: (least, likely, most) in seconds; certain where all are
    equal; None where nobody says (counted as nothing). floors: a step starts no sooner. lead: whose day a step shares.
    keys: the stream of its draws; steps with one key are long or short together."""

    name: str
    order: tuple[int, ...]
    incoming: tuple[tuple[tuple[int, float], ...], ...]
    ranges: tuple[tuple[float, float, float] | None, ...]
    floors: tuple[float, ...]
    windows: tuple[Window | None, ...]
    lead: tuple[str, ...]
    keys: tuple[int, ...]

    @property
    def steps(self) -> int:
        return len(self.ranges)

    def range_of(self, step: int) -> tuple[float, float, float]:
        found = self.ranges[step]
        return (0.0, 0.0, 0.0) if found is None else found

    def uncertain(self, step: int) -> bool:
        least, _, most = self.range_of(step)
        return least < most


def key_of(text: str) -> int:
    """64 bits for a text, the same on every machine."""
    return int.from_bytes(blake2b(text.encode("utf-8"), digest_size=8).digest(), "little")


def plain(seconds: Fraction) -> float:
    """A time as a plain number, cut at `MOST_SECONDS`."""
    return float(min(seconds, Fraction(MOST_SECONDS)))


def network_of(graph: EventGraph) -> Network | None:
    """The excursion as its schedule sees it; None where its order is circular.

    A step that the schedule holds back so that a ``within`` is kept is held back until the same moment here. A step of
    several shares the day of who is named first. The steps of a way that shares one bracket are long or short
    together, so that their sum is as long as the bracket says."""
    early = earliest(graph)
    order = graph.order()
    if early is None or order is None:
        return None
    flow = graph.flow
    floors = [plain(graph.seconds(floor)) for floor in graph.floors]
    for step in early.pushed:
        floors[step] = plain(graph.seconds(early.start[step]))
    windows: list[Window | None] = [None] * len(flow.steps)
    if graph.cycle is not None:
        dark, every, first = (plain(graph.seconds(part)) for part in graph.cycle)
        for step, word in graph.light.items():
            windows[step] = Window(dark, every, first, word == DAYLIGHT)
    names = identities(flow)
    keys = []
    for one in flow.steps:
        name = names[one.index]
        if one.entry.action is None and one.entry.duration is not None:
            mover = one.cast[0].name if one.cast else ""
            name = f"{flow.excursion.name}/{one.entry.task.name}/{mover}/way of heading {one.entry.index}"
        keys.append(key_of(name))
    return Network(
        flow.excursion.name,
        tuple(order),
        tuple(tuple((source, 0.0) for source in into) for into in graph.into()),
        tuple(None if t is None else (plain(t.least), plain(t.likely), plain(t.most)) for t in graph.triples),
        tuple(floors),
        tuple(windows),
        tuple(one.cast[0].name if one.cast else "" for one in flow.steps),
        tuple(keys),
    )
