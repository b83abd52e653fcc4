"""Counted holders, bounded sums and room, under any timing.

The replay has checked them along the proven order. Where all changes of one count are ordered, that decides it. Else
the stays of what was held decide: more than the limit can be there at once iff stays that heavy can meet.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.flow.laws import fitting_hold
from jackstay.flow.records import Step
from jackstay.flow.replay import Replay
from jackstay.flow.stays import Stay, heaviest
from jackstay.model.records import Admit, Carry, Hold, Holding, Quantified, Thing

_MOST = 400  # stays of one count beyond which the exact answer is not sought


def check_counts(replay: Replay) -> None:
    """Report ``may-exceed`` and, where neither way decides, ``not-decided``."""
    flow = replay.flow
    books: dict[tuple[int, int], list[tuple[Step, Thing, Fraction]]] = {}
    what: dict[tuple[int, int], tuple[Thing, Any]] = {}
    for step, counts in zip(flow.steps, replay.counts, strict=True):
        for holder, bound, thing, change in counts:
            key = (holder.index, id(bound))
            book = books.get(key)
            if book is None:
                book = books[key] = []
                what[key] = (holder, bound)
            book.append((step, thing, change))
    told = {p.facts.get("holder") or p.facts.get("place") for _, p in replay.count_problems}
    empty = _needed_empty(replay)
    needing = {p.facts["step"].index for p in flow.problems if p.rule == "need-may-fail"}
    for key, changes in books.items():
        holder, bound = what[key]
        limit = bound.limit.value if isinstance(bound, Carry) else replay.laws.limit(holder, bound.limit)
        if limit is None or holder in told or _ordered(changes):
            continue
        initial = _initial(replay, holder, bound)
        most = sum((w for _, w in initial), Fraction(0)) + sum((c for _, _, c in changes if c > 0), Fraction(0))
        if most <= limit:
            continue
        stays = _stays(initial, changes)
        if isinstance(bound, Carry) or len(stays) > _MOST:
            replay._tell(
                "not-decided", changes[0][0].entry.at, what="sum", excursion=flow.excursion, holder=holder, bound=bound
            )
            continue
        weight, chosen = heaviest(stays)
        if weight > limit:
            places = [s.start for s in chosen if s.start is not None]
            if any((s.index, holder) in empty and s.index in needing for s in places):
                continue  # one that meets the others needs nobody there, and `need-may-fail` has told that
            at = max(places, key=lambda s: s.index).entry.at if places else flow.excursion.decl
            replay._tell(
                "may-exceed", at, flow=flow, holder=holder, bound=bound, limit=limit, total=weight, stays=chosen
            )


def _needed_empty(replay: Replay) -> set[tuple[int, Thing]]:
    """(step, holder) pairs where the step needs that nothing of its own kind is on the holder."""
    out = set()
    for step, test in replay.quantified:
        holder = replay.judge.term(test.b, step.binding) if test.b is not None else None
        if holder is None or test.op != "attached" or test.negated or not isinstance(test.a, Quantified):
            continue
        kind = test.a.kind
        if test.a.quant == "none" and any(isinstance(one, Thing) and one.kind.is_a(kind) for one in step.binding[:2]):
            out.add((step.index, holder))
    return out


def _ordered(changes: list[tuple[Step, Thing, Fraction]]) -> bool:
    before = changes[0][0]
    for step, _, _ in changes:
        column, position = before.positions[0]
        if step is not before and step.clock[column] <= position:
            return False
        before = step
    return True


def _initial(replay: Replay, holder: Thing, bound: Hold | Carry | Admit) -> list[tuple[Thing, Fraction]]:
    """What was there at the start, with its weight."""
    values = replay.flow.start
    out = []
    for thing in replay.world.things:
        if thing.sort == "location":
            continue
        if isinstance(bound, Admit):
            fits = thing.sort == "actor" and (bound.kind is None or thing.kind.is_a(bound.kind))
            if fits and _walk(values, thing)[-1] is holder:
                out.append((thing, Fraction(1)))
        elif isinstance(bound, Carry):
            var = thing.prop_vars.get(bound.prop, -1)
            weight = values[var] if var >= 0 else thing.values.get(bound.prop)
            if isinstance(weight, Fraction) and holder in _walk(values, thing)[1:]:
                out.append((thing, weight))
        elif thing.sort == "actor":
            if values[thing.place_var] is holder and fitting_hold(thing, holder, None) is bound:
                out.append((thing, replay.laws._weight(bound, thing)))
        else:
            held_by: tuple[Holding, ...] = values[thing.held_var] or ()
            if any(h.holder is holder and fitting_hold(thing, holder, h.manner) is bound for h in held_by):
                out.append((thing, replay.laws._weight(bound, thing)))
    return out


def _walk(values: list[Any], thing: Thing) -> list[Thing]:
    """From a thing down to where it is, by the values of a state."""
    out = [thing]
    while out[-1].sort != "location" and len(out) < 64:
        last = out[-1]
        held = values[last.held_var] if last.held_var >= 0 else None
        below = held[0].holder if held else values[last.place_var] if last.place_var >= 0 else None
        if below is None:
            break
        out.append(below)
    return out


def _stays(initial: list[tuple[Thing, Fraction]], changes: list[tuple[Step, Thing, Fraction]]) -> list[Stay]:
    """Each thing's stays in the count, in the order of the replay."""
    out: list[Stay] = []
    open_at: dict[Thing, tuple[Step | None, Fraction]] = {thing: (None, weight) for thing, weight in initial}
    for step, thing, change in changes:
        if change > 0:
            if thing in open_at:
                # held there already, another way: one stay, of the greater weight
                started, weight = open_at[thing]
                open_at[thing] = (started, max(weight, change))
            else:
                open_at[thing] = (step, change)
        elif thing in open_at:
            started, weight = open_at.pop(thing)
            out.append(Stay(started, step, thing, weight))
    out += [Stay(started, None, thing, weight) for thing, (started, weight) in open_at.items()]
    return [s for s in out if s.weight > 0]
