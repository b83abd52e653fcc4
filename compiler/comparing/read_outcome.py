"""What follows from an excursion as it is written: ends, custody, what passes the way out and in, times, supplies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import groupby
from typing import Any

from jackstay.comparing.meaning import Critical, Outcome
from jackstay.flow.records import Step
from jackstay.model.records import Thing, World
from jackstay.outputs.clock import clock, minutes, total
from jackstay.outputs.custody import Stay, chains
from jackstay.outputs.home_account import home_account
from jackstay.outputs.packing import passages
from jackstay.outputs.situation import holdings, line_ends, place
from jackstay.outputs.supplies import amount
from jackstay.outputs.views import View, is_idle, main_step
from jackstay.outputs.wording import source_place, step_text, value_text
from jackstay.timing.records import Times, Triple
from jackstay.timing.supplies import supplies_of

NOBODY = "nobody"
_ZERO = Fraction(0)


def outcomes(world: World, views: list[View]) -> list[Outcome | None]:
    """One for each excursion; None where its order is circular."""
    found = chains(world, views)
    return [
        _outcome(world, view, view.times, {item: sections[at] for item, sections in found.items()})
        if view.times is not None
        else None
        for at, view in enumerate(views)
    ]


def _outcome(world: World, view: View, times: Times, custody: dict[Thing, list[Stay]]) -> Outcome:
    out, back = passages(world, view)
    ways = [("out", one) for one in out] + [("in", one) for one in back]
    return Outcome(
        dict(_ends(world, view.flow.end)),
        {item.name: tuple(words for words, _ in groupby(map(_stay, stays))) for item, stays in custody.items()},
        {(one.item.name, way): one.carrier.name if one.carrier is not None else NOBODY for way, one in ways},
        tuple(_critical(view, times)),
        dict(_figures(world, view, times)),
        dict(_paces(view, times)),
    )


def _ends(world: World, state: Sequence[Any]) -> Iterator[tuple[tuple[str, str], str]]:
    """Each thing's own hold, place, ends and properties; where it thereby is, is its holder's business."""
    for thing in world.things:
        if thing.place_var >= 0 or thing.held_var >= 0:
            yield (thing.name, ""), hangs(state, thing)
        for prop, var in thing.prop_vars.items():
            words = value_text(state[var], thing.kind.properties.get(prop), thing)
            yield (thing.name, prop), words if not isinstance(state[var], Thing) else state[var].name


def hangs(state: Sequence[Any], thing: Thing) -> str:
    if thing.sort == "actor":
        at = place(state, thing)
        return f"at {at.name}" if at is not None else "nowhere"
    return _words(*_hang(state, thing))


def _hang(state: Sequence[Any], thing: Thing) -> tuple[Any, Thing | None, Thing | None]:
    return (holdings(state, thing), *line_ends(state, thing))


def _words(held: Any, first: Thing | None, second: Thing | None) -> str:
    parts = [" and ".join(f"{one.holder.name} (by {one.manner})" if one.manner else one.holder.name for one in held)]
    if first is not None or second is not None:
        ends = [end.name if end is not None else "a free end" for end in (first, second)]
        parts.append(f"from {ends[0]} to {ends[1]}")
    return ", ".join(part for part in parts if part) or "on nothing"


def _stay(stay: Stay) -> str:
    return _words(*stay.hangs)


def _critical(view: View, times: Times) -> Iterator[Critical]:
    for index in times.critical:
        step = view.flow.steps[index]
        if not is_idle(step) and times.end[index] > times.start[index]:
            entry = -1 if step.inserted else step.entry.index
            yield Critical(_who(step), step_text(step), step.entry.task.name, source_place(step.entry.at), entry)


def _who(step: Step) -> tuple[str, ...]:
    return tuple(actor.name for actor in step.cast)


def _paces(view: View, times: Times) -> Iterator[tuple[int, tuple[str, str]]]:
    for index, steps in sorted(view.of_entry.items()):
        step = main_step(steps)
        triple = times.triples[step.index]
        if step.action is not None and step.entry.duration is None and not step.inserted and triple is not None:
            yield index, (step.action.text, triple_words(triple))


def triple_words(triple: Triple) -> str:
    if triple.certain:
        return minutes(triple.likely)
    return f"{minutes(triple.likely)}, {minutes(triple.least).removesuffix(' min')} to {minutes(triple.most)}"


Figures = Iterator[tuple[tuple[str, str], tuple[Fraction | None, str]]]


def _figures(world: World, view: View, times: Times) -> Figures:
    yield ("", "end"), (times.makespan, total(times.makespan, times.makespan_open))
    excursion = view.excursion
    if excursion.limit is not None:
        shows = times.clock_end - times.clock_zero
        reserve = excursion.reserve.value if excursion.reserve is not None else _ZERO
        spare = excursion.limit.value - reserve - shows
        yield ("", "spare"), (spare, signed(spare))
    for actor, end in times.actor_end.items():
        yield (actor.name, "end"), (end, total(end, times.actor_open[actor]))
    for course in supplies_of(world, view.flow, times).courses:
        if course.unknown is not None:
            yield (course.actor.name, course.supply.name), (None, "not known")
            continue
        left = course.left_at_end
        words = f"{amount(course.supply.amount, left)} of {course.supply.amount.text}"
        yield (course.actor.name, course.supply.name), (left, words)
    account, _ = home_account(view, times)
    for tally in account.tallies.values():
        yield from _home(tally)


def _home(tally: Any) -> Figures:
    """To the second: the account searches in floating point where it may."""
    name = tally.actor.name
    if tally.stuck is not None or tally.unknown is not None:
        words = "no way home at times" if tally.stuck is not None else "not known at times"
        yield (name, "margin"), (None, words)
    elif tally.tightest is not None:
        margin = Fraction(round(tally.tightest.margin))
        yield (name, "margin"), (margin, signed(margin))
    if tally.longest:
        longest = Fraction(round(tally.longest))
        yield (name, "way home"), (longest, minutes(longest))
    bound = tally.tightest is not None or tally.stuck is not None or tally.unknown is not None
    if bound and tally.turn_back is not None:  # where nothing runs out there is no last moment
        turn = Fraction(round(tally.turn_back))
        yield (name, "turn back"), (turn, clock(turn))


def signed(seconds: Fraction) -> str:
    return f"-{clock(-seconds)}" if seconds < 0 else clock(seconds)
