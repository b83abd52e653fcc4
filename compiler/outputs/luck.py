"""luck.txt: what only the usual durations put one after the other."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from jackstay.flow.clocks import happens_before
from jackstay.flow.races import find_races
from jackstay.flow.records import Step
from jackstay.model.records import Thing, World
from jackstay.outputs.clock import clock, minutes
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.paper import heading, row, wrap
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_idle
from jackstay.outputs.wording import label, labels, source_place, step_text
from jackstay.timing.formulas import location_in
from jackstay.timing.gaps import between
from jackstay.timing.records import Times

MOST = 20
INDENT = " " * 14

MEANS = (
    "Pairs of steps of different actors, at one place or with one thing, that nothing in the text orders: only the "
    f"usual durations put one after the other. Smallest gap first, at most {MOST} for each excursion; of two actors' "
    "lists only the steps next to each other in time.",
    "What it means: if the first of a pair takes longer than usual by its gap, the two overlap. What it does not mean: "
    "that the plan is wrong. A plan that passed its check, with nothing left undecided, holds whichever of the two "
    "comes first, as far as places, holders, settings, limits and written rules go. Look at the pairs for what no "
    "plan writes: elbow room, sight, attention. Where the order matters, write it: `says` at the end of the one, `on` "
    "before the other.",
    "Not listed: steps that overlap by the nominal times anyway, and steps whose nominal times are not known.",
)
RACES = (
    "MAY COME FIRST: pairs that touch the same thing, one of them changing it, so that the plan may fail when they "
    "come the other way round or at once. Only the usual durations keep them in the order written, if they do (below "
    "nothing: they do not). These are findings; put them right."
)


@dataclass(frozen=True, slots=True)
class Pair:
    """apart: seconds from the end of the first to the start of the second by the nominal times; below nothing where
    they overlap or come the other way round; None where a duration is missing. share: places and things of both."""

    first: Step
    second: Step
    apart: Fraction | None
    share: tuple[Thing, ...]
    race: bool


def luck(world: World, views: list[View], frame: Frame) -> str:
    """The page."""
    lines = frame.head("Luck of the clock")
    for words in MEANS:
        lines += [*wrap(frame.said.put(words)), ""]
    for view in views:
        lines += [*excursion_head(view, len(views)), ""]
        lines += [NOT_WORKED_OUT] if view.times is None else _excursion(world, view, view.times)
        lines.append("")
    return "\n".join([*lines[:-1], *frame.foot()]) + "\n"


def _excursion(world: World, view: View, times: Times) -> list[str]:
    pairs = pairs_of(world, view)
    races = [pair for pair in pairs if pair.race]
    lines: list[str] = []
    if races:
        lines += wrap(RACES)
        for pair in races:
            lines += _rows(times, pair)
        lines += ["", *heading("the other pairs")]
    plain = [pair for pair in pairs if not pair.race]
    for pair in plain[:MOST]:
        lines += _rows(times, pair)
    if not plain:
        lines.append("  no such pair")
    elif len(plain) > MOST:
        lines += wrap(f"and {len(plain) - MOST} more, further apart", "  ")
    vague = sum(1 for step in view.flow.steps if times.end_open[step.index])
    if vague:
        lines += wrap(f"{vague} of {len(times.end)} steps have no nominal end, because a duration is missing.", "  ")
    return lines


def _rows(times: Times, pair: Pair) -> list[str]:
    first, second = pair.first.index, pair.second.index
    gap = "not known" if pair.apart is None else minutes(abs(pair.apart))
    if pair.apart is not None and pair.apart < 0:
        gap = f"-{gap}"
    ends = f" (to {clock(times.end[first], times.end_open[first])})"
    starts = f" (from {clock(times.start[second], times.start_open[second])})"
    lines = row(_who(pair.first) + ends, f"  {gap:>10}  ", source_place(pair.first.entry.at))
    lines += row(_who(pair.second) + starts, INDENT, source_place(pair.second.entry.at))
    return [*lines, *wrap(f"both: {', '.join(label(thing) for thing in pair.share)}", f"{INDENT}= ")]


def _who(step: Step) -> str:
    return f"{'> ' if step.inserted else ''}{labels(step.cast)}: {step_text(step)}"


def pairs_of(world: World, view: View) -> list[Pair]:
    """Races first, then the others, the smallest gap first; gaps that are not known come last of the races."""
    times = view.times
    if times is None:
        return []
    races = _races(world, view, times)
    racing = {(pair.first.index, pair.second.index) for pair in races}
    touched = _touched(view)
    found: dict[tuple[int, int], dict[Thing, None]] = {}
    for thing, steps in touched.items():
        for first, second in _neighbours(view, times, steps):
            if (first.index, second.index) not in racing and (second.index, first.index) not in racing:
                found.setdefault((first.index, second.index), {})[thing] = None
    steps = view.flow.steps
    plain = [
        Pair(steps[a], steps[b], times.start[b] - times.end[a], tuple(share), False) for (a, b), share in found.items()
    ]
    return [*races, *sorted(plain, key=_rank)]


def _rank(pair: Pair) -> tuple[bool, Fraction, int, int]:
    return pair.apart is None, pair.apart or Fraction(0), pair.first.index, pair.second.index


def _races(world: World, view: View, times: Times) -> list[Pair]:
    variables: dict[tuple[int, int], dict[int, None]] = {}
    for race in find_races(view.flow):
        variables.setdefault((race.first.index, race.second.index), {})[race.var] = None
    found = []
    for (a, b), both in variables.items():
        first, second = view.flow.steps[a], view.flow.steps[b]
        things = tuple(dict.fromkeys(world.variables[var].thing for var in both))
        known = between(times, a, b) is not None
        found.append(Pair(first, second, times.start[b] - times.end[a] if known else None, things, True))
    return sorted(found, key=_rank)


def _touched(view: View) -> dict[Thing, list[Step]]:
    """Places and items, each with the steps that are done there, or with it, in the replayed order."""
    state = list(view.flow.start)
    found: dict[Thing, list[Step]] = {}
    for step in view.flow.steps:
        runners = {actor.runner for actor in step.cast}
        doers = [actor for actor in step.cast if actor not in runners]
        touched: dict[Thing, None] = {}
        for late in (False, True):
            if late:
                for change in step.changes:
                    state[change.var] = change.after
            for actor in doers:
                place = location_in(state, actor)
                if place is not None:
                    touched.update(dict.fromkeys(place.near or (place,)))
        touched.update(dict.fromkeys(one for one in step.binding[2:] if isinstance(one, Thing) and one.sort == "item"))
        if not is_idle(step):
            for thing in touched:
                found.setdefault(thing, []).append(step)
    return found


def _neighbours(view: View, times: Times, steps: list[Step]) -> Iterator[tuple[Step, Step]]:
    """Of each two actors: a step, and the other's next step that begins once that is over, if nothing orders them."""
    own: dict[Thing, list[Step]] = {}
    for step in steps:
        for actor in step.cast:
            own.setdefault(actor, []).append(step)
    beside = set(view.flow.companions)
    for actor, mine in own.items():
        for other, theirs in own.items():
            if other is actor:
                continue
            starts = [times.start[step.index] for step in theirs]
            last: dict[int, Step] = {}
            for step in mine:
                at = bisect_left(starts, times.end[step.index])
                if at < len(theirs) and _unordered(step, theirs[at], beside):
                    last[theirs[at].index] = step
            for index, step in last.items():
                if not (times.end_open[step.index] or times.start_open[index]):
                    yield step, view.flow.steps[index]


def _unordered(one: Step, other: Step, beside: set[tuple[int, int]]) -> bool:
    if (one.index, other.index) in beside or (other.index, one.index) in beside:
        return False
    if any(actor in other.cast for actor in one.cast):
        return False
    return not happens_before(one, other) and not happens_before(other, one)
