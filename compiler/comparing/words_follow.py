"""Records about what follows, and findings, in words: one line for what belongs together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from jackstay.comparing.lines import GONE, NEW, OTHER, Line, Plan, Told, joined, listed
from jackstay.comparing.records import (
    ChainChanged,
    Change,
    CustodyChanged,
    EndChanged,
    Figure,
    FigureChanged,
    FindingAppeared,
    FindingGone,
    FindingReworded,
    PaceChanged,
    PackChanged,
    StepAt,
)
from jackstay.outputs.clock import minutes

OF_OUTCOME = (CustodyChanged, EndChanged, PackChanged, ChainChanged, FigureChanged, PaceChanged)
OF_FINDINGS = (FindingAppeared, FindingGone, FindingReworded)
_HOME = ("margin", "way home", "turn back")
_ENDS = ("end", "spare")
_SHOWN = 3  # steps of a longer list
_TASKS = 4


def follow_lines(told: Told, changes: Sequence[Change]) -> Iterator[Line]:
    """Times, the critical chain, supplies and the way home by actor, then items."""
    figures = [one for one in changes if isinstance(one, FigureChanged)]
    yield from _whole(figures)
    ends = [one for one in figures if one.actor is not None and one.what == "end"]
    if ends:
        words = [f"{told.actor(one.actor.now)} {_was(one)}" for one in ends if one.actor is not None]
        yield Line(OTHER, (f"last step: {', '.join(words)}",))
    for change in changes:
        if isinstance(change, ChainChanged):
            yield from _chain(told, change)
        elif isinstance(change, PaceChanged):
            count = f"{change.steps} step{'' if change.steps == 1 else 's'} of "
            yield Line(OTHER, (count, Plan(change.verb), f": {change.new} each, was {change.old}"))
    rest = [one for one in figures if one.actor is not None and one.what != "end"]
    for who, same in groupby(rest, key=lambda one: one.actor.now if one.actor is not None else ""):
        group = list(same)
        home = [f"{_home_word(one.what)} {_was(one)}" for one in group if one.what in _HOME]
        left = [f"{one.what} {_was(one)}" for one in group if one.what not in _HOME]
        if home:
            yield Line(OTHER, (f"{told.whose(who)} way home: {', '.join(home)}",))
        if left:
            yield Line(OTHER, (f"{told.whose(who)} supplies at the end: {', '.join(left)}",))
    yield from _packed(told, [one for one in changes if isinstance(one, PackChanged)])
    for change in changes:
        if isinstance(change, CustodyChanged):
            yield _custody(told, change)
    for change in changes:
        if isinstance(change, EndChanged):
            yield _end(told, change)


def _whole(figures: Sequence[FigureChanged]) -> Iterator[Line]:
    for one in figures:
        if one.actor is None:
            word = "ends at" if one.what == "end" else "to spare before limit and reserve:"
            yield Line(OTHER, (f"{word} {_was(one)}{_apart(one)}",))


def _was(one: FigureChanged) -> str:
    if one.old is None:
        return f"{_figure(one.new)} (new)"
    if one.new is None:
        return f"none (was {one.old.text})"
    old, new = one.old.text, one.new.text
    total = " of " + new.partition(" of ")[2] if " of " in new else ""
    if total and old.endswith(total):  # the same stock: named once
        old, new = old.removesuffix(total), new.removesuffix(total)
        unit = new.partition(" ")[2]
        old = old.removesuffix(f" {unit}")
    return f"{new} (was {old})"


def _figure(figure: Figure | None) -> str:
    return figure.text if figure is not None else "not stated"


def _apart(one: FigureChanged) -> str:
    if one.what != "end" or one.old is None or one.new is None or one.old.value is None or one.new.value is None:
        return ""
    apart = one.new.value - one.old.value
    return f", {minutes(abs(apart))} {'later' if apart > 0 else 'earlier'}"


def _home_word(what: str) -> str:
    return {"margin": "least margin", "way home": "takes at most", "turn back": "turn back by"}[what]


def _chain(told: Told, change: ChainChanged) -> Iterator[Line]:
    """By task where it goes through other tasks; else by step."""
    if change.through.old or change.through.new:
        old, new = _tasks(told, change.old), _tasks(told, change.new)
        parts = _through("now through ", change.through.new, new)
        gone = _through("no longer through ", change.through.old, old)
        yield Line(OTHER, ("critical chain: ", *parts, *(("; ",) if parts and gone else ()), *gone))
        return
    now, was = (_named(told, steps[:_SHOWN]) for steps in (change.new, change.old))
    more, less = (f" and {len(s) - _SHOWN} more" if len(s) > _SHOWN else "" for s in (change.new, change.old))
    parts = ("with ", *now, more) if now else ()
    gone = ("without ", *was, less) if was else ()
    yield Line(OTHER, ("critical chain: ", *parts, *(("; ",) if parts and gone else ()), *gone))


def _named(told: Told, steps: Sequence[StepAt]) -> tuple[str, ...]:
    parts: list[str] = []
    for step in steps:
        parts += ["; " if parts else "", Plan(step.text), f" ({told.actor(step.actors[0] if step.actors else None)})"]
    return tuple(parts)


def _tasks(told: Told, steps: Sequence[StepAt]) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for step in steps:
        who = found.setdefault(step.task, [])
        name = told.actor(step.actors[0] if step.actors else None)
        if name not in who:
            who.append(name)
    return found


def _through(head: str, tasks: Sequence[str], who: dict[str, list[str]]) -> tuple[str, ...]:
    parts: list[str] = []
    for task in tasks[:_TASKS]:
        parts += [", " if parts else head, Plan(task), f" ({listed(who[task])})"]
    if len(tasks) > _TASKS:
        parts.append(f" and {len(tasks) - _TASKS} other tasks")
    return tuple(parts)


def _packed(told: Told, changes: Sequence[PackChanged]) -> Iterator[Line]:
    groups: dict[tuple[str, str | None, str | None], list[str]] = {}
    for one in changes:
        groups.setdefault((one.way, one.old, one.new), []).append(one.item.now)
    for (way, old, new), items in groups.items():
        several = len(items) > 1
        verb = {"out": "go", "in": "come"}[way] + ("" if several else "es" if way == "out" else "s")
        if old is None:
            yield Line(NEW, (f"now {verb} {way} with {told.actor(new)}: ", *joined(items, ", ")))
        elif new is None:
            yield Line(GONE, (f"no longer {verb} {way} (was with {told.actor(old)}): ", *joined(items, ", ")))
        else:
            yield Line(OTHER, (f"{verb} {way} with {told.actor(new)}, was {told.actor(old)}: ", *joined(items, ", ")))


def _custody(told: Told, change: CustodyChanged) -> Line:
    old, new = change.old, change.new
    if any(" to " in stay for stay in (*old, *new)) and all(stay.startswith("from ") for stay in (*old, *new)):
        count = f"moved {len(new) - 1} times, was {len(old) - 1}" if len(old) != len(new) else "other ends on the way"
        return Line(OTHER, (Plan(change.item.now), f": {count}"))
    plain_old, plain_new = _holders(old), _holders(new)
    if plain_old != plain_new:
        old, new = plain_old, plain_new
    first, last = _shared(old, new)
    before, after = (_way(told, stays, first, last) for stays in (old, new))
    return Line(OTHER, ("hands: ", Plan(change.item.now), f": {after}; was {before}"))


def _holders(stays: Sequence[str]) -> tuple[str, ...]:
    """Without the manner, and each holder once in a row."""
    return tuple(name for name, _ in groupby(stay.partition(" (by ")[0] for stay in stays))


def _shared(old: Sequence[str], new: Sequence[str]) -> tuple[int, int]:
    """How many stays at either end need not be told: all that are alike but the ones next to the difference."""
    shorter = min(len(old), len(new))
    first = next((at for at in range(shorter) if old[at] != new[at]), shorter)
    room = shorter - first
    last = next((at for at in range(room) if old[-1 - at] != new[-1 - at]), room)
    return max(first - 1, 0), max(last - 1, 0)


def _way(told: Told, stays: Sequence[str], first: int, last: int) -> str:
    shown = [told.holder(stay) for stay in stays[first : len(stays) - last]]
    return " > ".join([*(["..."] if first else []), *shown, *(["..."] if last else [])])


def _end(told: Told, change: EndChanged) -> Line:
    name = Plan(change.thing.now)
    before = told.holder(change.old) if change.old is not None else "not there"
    after = told.holder(change.new) if change.new is not None else "not there"
    of: tuple[str, ...] = (Plan(change.part), " of ") if change.part else ()
    return Line(OTHER, ("at the end ", *of, name, f": {after}, was {before}"))


def finding_line(change: Change) -> Line:
    if isinstance(change, FindingReworded):
        return Line(
            OTHER,
            (f"{change.new.severity} ", Plan(change.new.rule), f": {change.new.message} Was: {change.old.message}"),
            change.new.at,
        )
    assert isinstance(change, (FindingAppeared, FindingGone))
    found = change.finding
    sign = NEW if isinstance(change, FindingAppeared) else GONE
    return Line(sign, (f"{found.severity} ", Plan(found.rule), f": {found.message}"), found.at)
