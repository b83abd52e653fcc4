"""The fewest calls that put every racing pair of an excursion in the order in which the plan is written.

A call from one actor's list to another's mends every pair whose first step is over by the call and whose second comes
after the wait. In the replayed order each pair of one actor with one other is then an interval of places where the wait
may stand, and stabbing the intervals greedily takes the fewest waits. Calls run with the replayed order only, so none
can close a circle, and the replay stays as it was.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Edit, Fix
from jackstay.flow.clocks import called
from jackstay.flow.races import find_races
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Thing
from jackstay.rules import naming, waits

_MOST = 40  # calls beyond which none is tried to be left out again


class Call(NamedTuple):
    """said: a step whose entry's end is called. heard: the first step of the entry that waits."""

    said: Step
    heard: Step


def mend_all(plan: Any, flow: ExcursionFlow) -> Fix | None:
    """One repair for all races of the excursion; None if it has only one, or if the text cannot say them all."""
    pairs = racing_pairs(flow)
    if len({(a.entry.index, b.entry.index) for a, b in pairs}) < 2:
        return None
    calls = fewest_calls(flow, pairs)
    edits = _edits(plan, flow, calls) if calls else None
    if not calls or edits is None:
        return None
    what = "one call puts" if len(calls) == 1 else f"{len(calls)} calls put"
    return Fix(f"{what} everything in this excursion that may come first in the order in which it is written", edits)


def mend_by(plan: Any, facts: dict[str, Any], what: str) -> list[Fix]:
    """Let the second step of each pair of ``mend`` wait for the first; empty where there is none, or where the text
    cannot say so. what: what it does, where it takes more than one call: ``keep them apart``."""
    flow, pairs = facts["flow"], facts.get("mend")
    if not pairs:
        return []
    said, heard = _said(flow), _heard(flow)
    calls = []
    for first, second in pairs:
        speaks = next((s for some in said.values() for s in some if _at_or_after(first, s)), None)
        listens = next((s for some in heard.values() for s in some if _at_or_after(s, second)), None)
        if speaks is None or listens is None:
            return []
        calls.append(Call(speaks, listens))
    if any(call.said.index >= call.heard.index for call in calls):
        return []
    edits = _edits(plan, flow, calls)
    if edits is None:
        return []
    if len(calls) > 1:
        return [Fix(f"{len(calls)} calls {what}", edits)]
    [(speaker, listener)] = calls
    return [Fix(f"let {naming.who(listener.binding)} wait until {naming.who(speaker.binding)} has called", edits)]


def _at_or_after(first: Step, second: Step) -> bool:
    """Whether two steps are of one entry, the second no earlier."""
    return first.entry is second.entry and first.index <= second.index


def racing_pairs(flow: ExcursionFlow) -> list[tuple[Step, Step]]:
    """Every pair of neighbouring steps on one variable that nothing orders, once."""
    races = find_races(flow)
    return list({(race.first.index, race.second.index): (race.first, race.second) for race in races}.values())


def fewest_calls(flow: ExcursionFlow, pairs: Sequence[tuple[Step, Step]]) -> list[Call] | None:
    """Calls after which no pair races; None where a step that must call or wait is not written on a line of its own.

    Fewest for each two of the crew; of three or more a call that the others' calls make needless is left out again."""
    said, heard = _said(flow), _heard(flow)
    calls: list[Call] = []
    for (speaker, listener), mine in _by_actors(pairs).items():
        found = _stab(said.get(speaker, []), heard.get(listener, []), mine)
        if found is None:
            return None
        calls += found
    calls = sorted(dict.fromkeys(calls), key=lambda call: (call.heard.index, call.said.index))
    if not _settled(flow, calls):
        return None
    if len(calls) <= _MOST:
        for call in list(calls):
            fewer = [one for one in calls if one is not call]
            if fewer and _settled(flow, fewer):
                calls = fewer
    return calls


def _by_actors(pairs: Sequence[tuple[Step, Step]]) -> dict[tuple[Thing, Thing], list[tuple[Step, Step]]]:
    """Of steps done by several, the two actors are taken that most pairs have."""
    options = [[(a, b) for a in first.cast for b in second.cast] for first, second in pairs]
    common = Counter(option for some in options for option in some)
    chosen: dict[tuple[Thing, Thing], list[tuple[Step, Step]]] = {}
    for pair, some in zip(pairs, options, strict=True):
        if some:
            chosen.setdefault(max(some, key=lambda option: common[option]), []).append(pair)
    return chosen


def _said(flow: ExcursionFlow) -> dict[Thing, list[Step]]:
    """Per actor the steps whose end a mark on a line can name, in the replayed order."""
    found: dict[Thing, list[Step]] = {}
    for steps in flow.by_entry.values():
        if steps:
            main = next((s for s in reversed(steps) if not s.inserted), steps[-1])
            free = main.entry.says is None or main.entry.says.task is main.entry.task
            if free and waits.ends_with(flow, main):
                for actor in main.cast:
                    found.setdefault(actor, []).append(main)
    return {actor: sorted(steps, key=lambda s: s.index) for actor, steps in found.items()}


def _heard(flow: ExcursionFlow) -> dict[Thing, list[Step]]:
    """Per actor the steps that a wait on a line can hold back. What others run beside (``while``) is left alone: a wait
    would hold them back too."""
    outer = {m for _, m in flow.companions}
    found: dict[Thing, list[Step]] = {}
    for steps in flow.by_entry.values():
        if steps and not any(s.index in outer for s in steps) and waits.begins_with(flow, steps[0]):
            for actor in steps[0].cast:
                found.setdefault(actor, []).append(steps[0])
    return {actor: sorted(steps, key=lambda s: s.index) for actor, steps in found.items()}


def _stab(said: list[Step], heard: list[Step], pairs: list[tuple[Step, Step]]) -> list[Call] | None:
    """Take the pair whose second step comes soonest, let that wait as late as it may, and pass over all that are
    mended by it; then the next."""
    speak, listen = [s.index for s in said], [s.index for s in heard]
    left = sorted(pairs, key=lambda pair: (pair[1].index, pair[0].index))
    calls = []
    while left:
        first, second = left[0]
        at = bisect_right(listen, second.index) - 1
        if at < 0:
            return None
        wait = listen[at]
        last = bisect_left(speak, wait) - 1  # the latest call before the wait
        if last < 0 or speak[last] < first.index:
            return None
        mended = [pair for pair in left if pair[0].index <= speak[last] and wait <= pair[1].index]
        call = bisect_left(speak, max(pair[0].index for pair in mended))
        calls.append(Call(said[call], heard[at]))
        left = [pair for pair in left if pair not in mended]
    return calls


def _settled(flow: ExcursionFlow, calls: Sequence[Call]) -> bool:
    """Whether no race is left with these calls in the order."""
    with called(flow, [(call.said.index, call.heard.index) for call in calls]):
        return not find_races(flow)


def _edits(plan: Any, flow: ExcursionFlow, calls: Sequence[Call]) -> tuple[Edit, ...] | None:
    """What is added to each line, in the order of the lines."""
    names: dict[int, str] = {}
    added: dict[int, list[str]] = {}
    heard: dict[int, list[str]] = {}
    entries = {step.entry.index: step.entry for call in calls for step in call}
    for call in calls:
        entry = call.said.entry
        if entry.index not in names:
            mark = entry.says
            names[entry.index] = mark.name if mark is not None else waits.fresh(flow, entry, names.values())
            if mark is None:
                added.setdefault(entry.index, []).append(f"says {names[entry.index]}")
        name = names[entry.index]
        full = name if entry.task is call.heard.entry.task else f"{entry.task.name}.{name}"
        heard.setdefault(call.heard.entry.index, []).append(full)
    for index, marks in heard.items():
        added.setdefault(index, []).append(f"on {' and '.join(dict.fromkeys(marks))}")
    edits = []
    for index in sorted(added):
        edit = waits.append(plan, entries[index].at, "".join(f", {text}" for text in added[index]))
        if edit is None:
            return None
        edits.append(edit)
    return tuple(edits)
