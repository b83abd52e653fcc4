"""What is aboard a bounded sum, thing by thing, as stays.

A thing is aboard from the start of the step that brings it, or what it is in, to the end of the one that takes it
away. While a property changes, the greater value counts: a stay for each level that the value reaches, the higher ones
within the lower. That is exact when the steps that change whether a thing is aboard, and its value, are ordered among
themselves. They are, where nothing races: who moves a thing reaches all that it leaves or comes to, so that whoever
moves that is ordered with them. It need not be so for what is moved from afar or hangs on several, and for a property
changed while what the thing is in moves: such a thing counts with its greatest value throughout, and if that is too
much, the sum is not decided. What may be aboard in another order only (see `chances`) counts beside: a thing of which
the stays of all its links meet one another, and those of the others.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from jackstay.flow.chances import Chance
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import Step
from jackstay.flow.state import State
from jackstay.flow.stays import Stay, apart, heaviest
from jackstay.model.records import Carry, Thing

if TYPE_CHECKING:
    from jackstay.flow.replay import Replay

_ZERO = Fraction(0)
_MOST_PARTIES = 6  # each set of them is tried
Asked = tuple[Thing, Carry, list[tuple[Step, Thing, Fraction]]]


class Party(NamedTuple):
    """Things that may come aboard in another order, by the same links: all at once. weights: those above zero."""

    links: tuple[Stay, ...]
    weights: dict[Thing, Fraction]

    def apart_from(self, other: "Party") -> bool:
        return any(apart(a, b) for a in self.links for b in other.links)


class Load(NamedTuple):
    """most: all that is ever aboard. unsure: things that stay aboard throughout for want of knowing better, with the
    reason."""

    stays: list[Stay]
    most: Fraction
    unsure: dict[Thing, str]
    parties: tuple[Party, ...] = ()

    def heaviest(self) -> tuple[Fraction, list[Stay]]:
        """The greatest weight that can be aboard at once, and what it is made of. With each set of parties that can
        meet: what meets them all. (Parties and stays together are no partial order: their links may hold or not.)"""
        best = heaviest(self.stays)
        for parties in _meeting(self.parties):
            things: dict[Thing, Stay] = {}
            for party in parties:
                start = max((s.start for s in party.links if s.start is not None), key=lambda s: s.index)
                end = min((s.end for s in party.links if s.end is not None), key=lambda s: s.index)
                for thing, weight in party.weights.items():
                    things.setdefault(thing, Stay(start, end, thing, weight))
            links = [link for party in parties for link in party.links]
            rest = [s for s in self.stays if s.thing not in things and not any(apart(s, link) for link in links)]
            weight, chosen = heaviest(rest)
            weight += sum((s.weight for s in things.values()), _ZERO)
            if weight > best[0]:
                best = weight, [*chosen, *things.values()]
        return best


def _meeting(parties: tuple[Party, ...]) -> list[tuple[Party, ...]]:
    """The sets of parties that can meet, the empty one left out."""
    out: list[tuple[Party, ...]] = [()]
    for party in parties:
        out += [(*some, party) for some in out if not any(party.apart_from(other) for other in some)]
    return out[1:]


class _Sum:
    """One bounded sum along the replay. levels: per thing aboard its open stays, lowest first: (begun, from, up to)."""

    def __init__(self, holder: Thing, carry: Carry, changes: list[tuple[Step, Thing, Fraction]]) -> None:
        self.holder = holder
        self.carry = carry
        self.steps = {step.index for step, _, _ in changes}
        self.levels: dict[Thing, list[tuple[Step | None, Fraction, Fraction]]] = {}
        self.changed: dict[Thing, list[Step]] = {}  # the steps that changed its value, or whether it is aboard
        self.stays: list[Stay] = []

    def look(self, state: State, step: Step | None) -> None:
        now: dict[Thing, Fraction] = {}
        for thing in state.everything_aboard(self.holder):
            value = state.value(thing, self.carry.prop)
            if isinstance(value, Fraction) and value > 0:
                now[thing] = value
        gone = [thing for thing in self.levels if thing not in now]
        for thing, value in (*((t, _ZERO) for t in gone), *now.items()):
            levels = self.levels.setdefault(thing, [])
            high = levels[-1][2] if levels else _ZERO
            if value == high:
                continue
            if step is not None:
                self.changed.setdefault(thing, []).append(step)
            while levels and levels[-1][2] > value:
                begun, low, up = levels.pop()
                self.stays.append(Stay(begun, step, thing, up - max(low, value)))
                if low < value:
                    levels.append((begun, low, value))
            if value > high:
                levels.append((step, high, value))
            if not levels:
                del self.levels[thing]

    def end(self) -> None:
        for thing, levels in self.levels.items():
            self.stays += [Stay(begun, None, thing, up - low) for begun, low, up in levels]


def loads(replay: Replay, asked: list[Asked], chances: dict[Thing, list[Chance]]) -> list[Load]:
    """The stays of each sum. One pass over the replay for all of them."""
    sums = [_Sum(*one) for one in asked]
    state = State(len(replay.world.variables))
    for variable, value in zip(replay.world.variables, replay.flow.start, strict=True):
        state.put(variable, value)
    writers: dict[int, list[Step]] = {}
    for one in sums:
        one.look(state, None)
    for step in replay.flow.steps:
        for change in step.changes:
            state.put(replay.world.variables[change.var], change.after)
            writers.setdefault(change.var, []).append(step)
        for one in sums:
            if step.index in one.steps:
                one.look(state, step)
    astray = _astray(replay, writers)
    return [_load(replay, one, writers, astray, chances.get(one.holder, [])) for one in sums]


def _astray(replay: Replay, writers: dict[int, list[Step]]) -> list[Thing]:
    """Things that are moved while what they come to, or leave, may be on the move."""
    out: dict[Thing, None] = {}
    for step, thing, nodes in replay.astray:
        for node in nodes:
            for writer in writers.get(max(node.held_var, node.place_var), ()):
                if writer is not step and not happens_before(writer, step) and not happens_before(step, writer):
                    out[thing] = None
    return list(out)


def _load(
    replay: Replay, one: _Sum, writers: dict[int, list[Step]], astray: list[Thing], chances: list[Chance]
) -> Load:
    one.end()
    prop = one.carry.prop
    unsure: dict[Thing, str] = {}
    for thing in astray:
        if thing is not one.holder:
            unsure[thing] = f"where {thing.name} hangs is changed by steps that nothing orders"
    for thing, steps in one.changed.items():
        own = writers.get(thing.prop_vars.get(prop, -1), [])
        every = sorted({s.index: s for s in (*steps, *own)}.values(), key=lambda s: s.index)
        if any(not happens_before(a, b) for a, b in pairwise(every)):
            what = f"{prop} of {thing.name}, and where it is, are" if own else f"where {thing.name} is, is"
            unsure.setdefault(thing, f"{what} changed by steps that nothing orders")
    parties = _parties(replay, prop, [c for c in chances if c.thing not in unsure], writers, unsure)
    stays = [s for s in one.stays if s.thing not in unsure]
    for thing in unsure:
        greatest = _greatest(replay, thing, prop, writers)
        if greatest > 0:
            stays.append(Stay(None, None, thing, greatest))
    most = sum((s.weight for s in stays), _ZERO)
    # a thing is aboard once, however it may come there
    most += sum(({t: w for party in parties for t, w in party.weights.items()}).values(), _ZERO)
    return Load(stays, most, unsure, parties)


def _greatest(replay: Replay, thing: Thing, prop: str, writers: dict[int, list[Step]]) -> Fraction:
    """The greatest value that a property of a thing ever has."""
    var = thing.prop_vars.get(prop, -1)
    values = [replay.flow.start[var] if var >= 0 else thing.values.get(prop)]
    values += [c.after for s in writers.get(var, ()) for c in s.changes if c.var == var]
    return max((v for v in values if isinstance(v, Fraction)), default=_ZERO)


def _parties(
    replay: Replay, prop: str, chances: list[Chance], writers: dict[int, list[Step]], unsure: dict[Thing, str]
) -> tuple[Party, ...]:
    """Those that come aboard by the same links together. Others are added to what is unsure."""
    parties: dict[tuple[tuple[int, int], ...], Party] = {}
    for thing, links in chances:
        value = _greatest(replay, thing, prop, writers)
        if value <= 0:
            continue
        if writers.get(thing.prop_vars.get(prop, -1)):
            unsure[thing] = f"{prop} of {thing.name}, and where it is, are changed by steps that nothing orders"
            continue
        key = tuple(sorted({(s.start.index if s.start else -1, s.end.index if s.end else -1) for s in links}))
        parties.setdefault(key, Party(links, {})).weights[thing] = value
    if len(parties) <= _MOST_PARTIES:
        return tuple(parties.values())
    for party in parties.values():
        for thing in party.weights:
            unsure.setdefault(thing, f"where {thing.name} is, is changed by steps that nothing orders")
    return ()
