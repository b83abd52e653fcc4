"""A replay that notes, for each entry, everything that its outcome goes by.

Wider than `Step.reads`, which are what must not change while a step runs: what a heading looked at to find that it had
nothing to do is noted too, and what was tried and not chosen. Beside the variables there are a few more numbers: what
is aboard of each thing, which lines end on it, and which tools are drawn. Whether a bound is exceeded is left out: that
is followed thing by thing (`presence`).
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.flow.laws import Laws
from jackstay.flow.records import ExcursionFlow
from jackstay.flow.replay import Replay
from jackstay.flow.state import State
from jackstay.model.records import Carry, Entry, Hold, Thing, World

Drawn = tuple[tuple[int, str, int], ...]  # (tool, manner and holder that it goes back to)


def aboard_number(world: World, holder: int) -> int:
    """The number that stands for what is aboard of a thing, given by its index."""
    return len(world.variables) + holder


def ends_number(world: World, holder: int) -> int:
    """The number that stands for the lines that end on a thing."""
    return len(world.variables) + len(world.things) + holder


def drawn_number(world: World) -> int:
    """The number that stands for the tools drawn and not yet put back."""
    return len(world.variables) + 2 * len(world.things)


class Values(list[Any]):
    """A state's values that note which were looked at."""

    seen: set[int]

    def __getitem__(self, index: Any) -> Any:
        self.seen.add(index)
        return list.__getitem__(self, index)


class _Groups(dict[int, dict[Thing, None]]):
    """What hangs on each thing; notes which were looked at. To change a group does not look at it."""

    seen: set[int]
    first: int

    def get(self, key: int, default: Any = None) -> Any:
        self.seen.add(self.first + key)
        return dict.get(self, key, default)

    def __contains__(self, key: object) -> bool:
        assert isinstance(key, int)
        self.seen.add(self.first + key)
        return dict.__contains__(self, key)


class Recorder:
    """Watches one state. ``seen`` collects numbers; ``pause`` lets what follows go unnoticed until ``resume``."""

    def __init__(self, world: World, state: State) -> None:
        self.state = state
        self.seen: set[int] = set()
        self.values = Values(state.values)
        self.aboard = _Groups(state.aboard)
        self.ends_on = _Groups(state.ends_on)
        self.aboard.first, self.ends_on.first = aboard_number(world, 0), ends_number(world, 0)
        state.values, state.aboard, state.ends_on = self.values, self.aboard, self.ends_on
        self.resume()

    def pause(self) -> None:
        self.values.seen = self.aboard.seen = self.ends_on.seen = set()

    def resume(self) -> None:
        self.values.seen = self.aboard.seen = self.ends_on.seen = self.seen

    def stop(self) -> None:
        """Leave the state as it would be without."""
        self.state.values = list(self.values)
        self.state.aboard, self.state.ends_on = dict(self.aboard), dict(self.ends_on)


class _CountedApart(Laws):
    """Who else and what else is there, which is looked at to count, is not noted."""

    recorder: Recorder

    def _count(self, holder: Thing, hold: Hold, item: Thing, text: str) -> None:
        self._weight(hold, item)
        self.limit(holder, hold.limit)
        self.recorder.pause()
        super()._count(holder, hold, item, text)
        self.recorder.resume()

    def _sum(self, node: Thing, carry: Carry, item: Thing, change: Fraction, text: str) -> None:
        self.recorder.pause()
        super()._sum(node, carry, item, change, text)
        self.recorder.resume()

    def _room(self, place: Thing | None, actor: Thing, text: str) -> None:
        for admit in place.kind.admits if place is not None else ():
            assert place is not None
            self.limit(place, admit.limit)
        self.recorder.pause()
        super()._room(place, actor, text)
        self.recorder.resume()


class Recording(Replay):
    """read: entry index -> the numbers that it went by. drawn_after: entry index -> the tools drawn when it is over."""

    laws_type = _CountedApart

    def run(self) -> ExcursionFlow:
        self.read: dict[int, frozenset[int]] = {}
        self.drawn_after: dict[int, Drawn] = {}
        self.recorder = Recorder(self.world, self.state)
        assert isinstance(self.laws, _CountedApart)
        self.laws.recorder = self.recorder
        try:
            return super().run()
        finally:
            self.recorder.stop()

    def _entry(self, i: int, entry: Entry) -> None:
        self.recorder.seen.clear()
        if entry.action is not None and entry.action.uses:
            self.recorder.seen.add(drawn_number(self.world))
        super()._entry(i, entry)
        self.read[entry.index] = frozenset(self.recorder.seen)
        if self.drawn:
            self.drawn_after[entry.index] = tuple(
                sorted((tool.index, manner, home.index) for tool, (manner, home) in self.drawn.items())
            )
