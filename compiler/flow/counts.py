"""Counted holders, bounded sums and room, under any timing.

The replay has checked them along the proven order. Where all changes of one bound are ordered, that decides it. Else
the stays of what was held decide: more than the limit can be there at once iff stays that heavy can meet. What is
summed is followed thing by thing (`sums`): a bag and what is in it come and go together, each with a stay of its own.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.flow.chances import chances
from jackstay.flow.laws import fitting_hold
from jackstay.flow.records import Step
from jackstay.flow.replay import Replay
from jackstay.flow.stays import Stay, heaviest
from jackstay.flow.sums import Load, loads
from jackstay.model.records import Admit, Carry, Hold, Holding, Quantified, Thing

_MOST = 20_000  # stays of one bound beyond which the exact answer is not sought: a matter of seconds, mostly of less

Key = tuple[int, int]  # (the holder's index, the bound's id)


class Book:
    """The changes of one bound along the replay. ordered: each step's before those of the next."""

    __slots__ = ("bound", "changes", "holder", "last", "ordered")

    def __init__(self, holder: Thing, bound: Hold | Carry | Admit) -> None:
        self.holder = holder
        self.bound = bound
        self.changes: list[tuple[Step, Thing, Fraction]] = []
        self.ordered = True
        self.last: Step | None = None


def check_counts(replay: Replay) -> None:
    """Report ``may-exceed`` and, where neither way decides, ``not-decided``."""
    books = _books(replay)
    others = chances(replay)
    for thing in (*others.by_holder, *others.uncounted):
        for carry in thing.kind.carries:
            books.setdefault((thing.index, id(carry)), Book(thing, carry))
    told = {(p.facts.get("holder") or p.facts.get("place"), p.facts["decl"]) for _, p in replay.count_problems}
    open_sums: dict[Key, Book] = {}
    for key, book in books.items():
        if (book.holder, book.bound.decl) in told:
            continue
        if isinstance(book.bound, Carry):
            if book.holder in others.uncounted:
                _not_decided(replay, book, "too many orders of what may hang there would have to be compared")
            elif not book.ordered or replay.astray or book.holder in others.by_holder:
                open_sums[key] = book
        else:
            _check_count(replay, book)
    if open_sums:
        found = loads(replay, [(b.holder, b.bound, b.changes) for b in open_sums.values()], others.by_holder)  # type: ignore[misc]
        for book, load in zip(open_sums.values(), found, strict=True):
            _check_sum(replay, book, load)


def _books(replay: Replay) -> dict[Key, Book]:
    books: dict[Key, Book] = {}
    for step, counts in zip(replay.flow.steps, replay.counts, strict=True):
        for holder, bound, thing, change in counts:
            key = (holder.index, id(bound))
            book = books.get(key)
            if book is None:
                book = books[key] = Book(holder, bound)
            book.changes.append((step, thing, change))
            last = book.last
            if last is not step:
                if last is not None and book.ordered:
                    column, position = last.positions[0]
                    if step.clock[column] <= position:
                        book.ordered = False
                book.last = step
    if replay.astray:  # what has gone astray may be aboard of what nothing else has changed
        for thing in replay.world.things:
            for carry in thing.kind.carries:
                books.setdefault((thing.index, id(carry)), Book(thing, carry))
    for var in replay.laws.been:
        variable = replay.world.variables[var]
        bounds: list[Hold | Admit] = [*variable.thing.kind.holds, *variable.thing.kind.admits]
        for bound in bounds:
            if bound.limit == variable.prop:
                books.setdefault((variable.thing.index, id(bound)), Book(variable.thing, bound))
    return books


def _not_decided(replay: Replay, book: Book, reason: str) -> None:
    at = book.changes[0][0].entry.at if book.changes else replay.flow.excursion.decl
    replay._tell(
        "not-decided",
        at,
        what="sum",
        excursion=replay.flow.excursion,
        holder=book.holder,
        bound=book.bound,
        reason=reason,
    )


# --- counts and room -------------------------------------------------------------------------------------------------


def _check_count(replay: Replay, book: Book) -> None:
    """A holder or a place, of which each thing's weight is known beforehand."""
    holder, bound, changes = book.holder, book.bound, book.changes
    assert not isinstance(bound, Carry)
    been = replay.laws.been
    limits = been.get(holder.prop_vars.get(bound.limit, -1), []) if isinstance(bound.limit, str) else []
    limit = min(limits) if limits else replay.laws.limit(holder, bound.limit)
    counting = bound.counting if isinstance(bound, Hold) else None
    varying = [v.thing for v in map(replay.world.variables.__getitem__, been) if v.prop == counting]
    if limit is None or (not limits and not varying and book.ordered):
        return
    initial = _initial(replay, holder, bound)
    most = sum((w for _, w in initial), Fraction(0)) + sum((c for _, _, c in changes if c > 0), Fraction(0))
    if most <= limit and not varying:
        return
    stays = _stays(initial, changes)
    if varying and counting is not None:
        heavy = {t: max(been[t.prop_vars[counting]]) for t in varying}
        stays = [s._replace(weight=heavy.get(s.thing, s.weight)) for s in stays]
    if len(stays) > _MOST:
        _not_decided(replay, book, _too_many(stays))
        return
    weight, chosen = heaviest(stays)
    if weight <= limit:
        return
    changing = next((s.thing for s in chosen if s.thing in varying), None)
    if limits or changing is not None:
        what = f"{bound.limit} of {holder.name}" if changing is None else f"{counting} of {changing.name}"
        _not_decided(replay, book, f"{what}, which the limit goes by, is itself changed by steps")
        return
    if not _told_as_need(replay, holder, chosen):
        _exceeds(replay, book, limit, weight, chosen)


def _exceeds(replay: Replay, book: Book, limit: Fraction, total: Fraction, stays: list[Stay]) -> None:
    flow = replay.flow
    places = [s.start for s in stays if s.start is not None]
    at = max(places, key=lambda s: s.index).entry.at if places else flow.excursion.decl
    replay._tell(
        "may-exceed", at, flow=flow, holder=book.holder, bound=book.bound, limit=limit, total=total, stays=stays
    )


def _too_many(stays: list[Stay]) -> str:
    return f"{len(stays)} stays would have to be compared; up to {_MOST} are"


def _told_as_need(replay: Replay, holder: Thing, stays: list[Stay]) -> bool:
    """Whether one that meets the others needs nobody there, and `need-may-fail` has told that."""
    empty = _needed_empty(replay)
    needing = {p.facts["step"].index for p in replay.flow.problems if p.rule == "need-may-fail"}
    return any(s.start is not None and (s.start.index, holder) in empty and s.start.index in needing for s in stays)


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


def _initial(replay: Replay, holder: Thing, bound: Hold | Admit) -> list[tuple[Thing, Fraction]]:
    """What was there at the start, with its weight."""
    values = replay.flow.start
    out = []
    for thing in replay.world.things:
        if thing.sort == "location":
            continue
        if isinstance(bound, Admit):
            fits = thing.sort == "actor" and (bound.kind is None or thing.kind.is_a(bound.kind))
            if fits and _place(values, thing) is holder:
                out.append((thing, Fraction(1)))
        elif thing.sort == "actor":
            if values[thing.place_var] is holder and fitting_hold(thing, holder, None) is bound:
                out.append((thing, replay.laws._weight(bound, thing)))
        else:
            held_by: tuple[Holding, ...] = values[thing.held_var] or ()
            if any(h.holder is holder and fitting_hold(thing, holder, h.manner) is bound for h in held_by):
                out.append((thing, replay.laws._weight(bound, thing)))
    return out


def _place(values: list[Any], actor: Thing) -> Thing:
    """Where an actor is, by the values of a state."""
    at = actor
    for _ in range(64):
        if at.sort == "location":
            break
        held = values[at.held_var] if at.held_var >= 0 else None
        below = held[0].holder if held else values[at.place_var] if at.place_var >= 0 else None
        if below is None:
            break
        at = below
    return at


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


# --- sums ------------------------------------------------------------------------------------------------------------


def _check_sum(replay: Replay, book: Book, load: Load) -> None:
    bound = book.bound
    assert isinstance(bound, Carry)
    limit = bound.limit.value
    if load.most <= limit:
        return
    if len(load.stays) > _MOST:
        _not_decided(replay, book, _too_many(load.stays))
        return
    weight, chosen = load.heaviest()
    if weight <= limit:
        return
    unsure = next((s.thing for s in chosen if s.thing in load.unsure), None)
    if unsure is not None:
        _not_decided(replay, book, load.unsure[unsure])
    else:
        _exceeds(replay, book, limit, weight, chosen)
