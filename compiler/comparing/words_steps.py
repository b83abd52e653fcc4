"""Records about steps, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from jackstay.comparing.lines import GONE, NEW, OTHER, Line, Plan, Told, doing, joined, place_of, within
from jackstay.comparing.records import (
    CallMoved,
    Change,
    StepAdded,
    StepAt,
    StepChanged,
    StepDropped,
    StepMoved,
    StepsReordered,
    WaitAdded,
    WaitDropped,
)

OF_STEPS = (StepAdded, StepDropped, StepMoved, StepChanged, WaitAdded, WaitDropped, CallMoved, StepsReordered)
_REMARKS = ("warning", "caution", "note", "because")
_BOUNDS = ("by", "not-before", "within", "light")
_SHORTEST = 3  # steps named of a longer series


def step_lines(told: Told, changes: Sequence[Change]) -> Iterator[Line]:
    """In the order of the records; neighbours that have moved alike are one line."""
    for key, same in groupby(changes, key=_alike):
        group = list(same)
        if key is not None and len(group) > 1:
            yield _moved(told, [one for one in group if isinstance(one, StepMoved)])
        else:
            for one in group:
                yield _line(told, one)


def _alike(change: Change) -> tuple[object, ...] | None:
    if isinstance(change, StepMoved):
        old, new = change.step
        return change.what, change.old, change.new, old.task, new.task, new.actors
    return None


def _line(told: Told, change: Change) -> Line:
    if isinstance(change, (StepAdded, StepDropped)):
        step, new = change.step, isinstance(change, StepAdded)
        more = [part for words in step.more for part in (" " if words.startswith("[") else ", ", Plan(words))]
        parts = ("new: " if new else "no longer: ", Plan(doing(step)), *more, _where(told, step))
        return Line(NEW if new else GONE, parts, step.at)
    if isinstance(change, StepMoved):
        return _moved(told, [change])
    if isinstance(change, StepChanged):
        return _changed(told, change)
    if isinstance(change, (WaitAdded, WaitDropped)):
        return _wait(told, change)
    if isinstance(change, CallMoved):
        name = change.call.now
        old, new = change.step
        parts = ("calls ", Plan(name), " after ", Plan(doing(new)), f"{within(new)}, not after ")
        other = () if old.actors == new.actors else (f" by {told.cast(old.actors[:1])}",)
        return Line(OTHER, (*parts, Plan(doing(old)), within(old), *other), new.at)
    assert isinstance(change, StepsReordered)
    return _reordered(change)


def _where(told: Told, step: StepAt) -> str:
    parts = [
        f", at {step.place}" if step.place and step.text else "",
        f" in {step.seat}" if step.seat and step.text else "",
    ]
    parts += [f", with {told.cast(step.actors[1:])}" if len(step.actors) > 1 else ""]
    parts += [f", {wait}" for wait in step.waits]
    return "".join(parts) + within(step)


def _moved(told: Told, changes: Sequence[StepMoved]) -> Line:
    first = changes[0]
    steps = [one.step.now for one in changes]
    texts = joined(doing(step) for step in steps)
    old, new = first.old or "where it was", first.new or "where one is"
    if first.what == "actor":
        before, after = _titles(told, first.step.old), _titles(told, first.step.new)
        if len(first.step.new.actors) > 1 or len(first.step.old.actors) > 1:
            return Line(OTHER, (*texts, f"{within(steps[0])}: {after} now, was {before}"), steps[0].at)
        return Line(OTHER, (f"does instead of {before}: ", *texts, within(steps[0])), steps[0].at)
    if first.what == "task":
        return Line(OTHER, ("in task ", Plan(new), " now, was ", Plan(old), ": ", *texts), steps[0].at)
    if first.what == "place" and not any(step.text for step in steps):
        return Line(OTHER, ("goes to ", Plan(new), " now, was ", Plan(old), within(steps[0])), steps[0].at)
    if first.what == "seat" and (first.old is None or first.new is None):
        seat = ("now in ", Plan(new)) if first.old is None else ("no longer in ", Plan(old))
        return Line(OTHER, (*seat, ": ", *texts, within(steps[0])), steps[0].at)
    word = "at" if first.what == "place" else "in"
    head = (f"{word} ", Plan(new), " now, was ", Plan(old), ": ")
    return Line(OTHER, (*head, *texts, within(steps[0])), steps[0].at)


def _titles(told: Told, step: StepAt) -> str:
    return told.cast(step.actors)


def _changed(told: Told, change: StepChanged) -> Line:
    step, what, old, new = change.step.now, change.what, change.old, change.new
    at = place_of(change.step)
    tail = (": ", Plan(doing(step)), within(step))
    sign = NEW if old is None else GONE if new is None else OTHER
    if what == "words":
        return Line(OTHER, ("now ", Plan(new or ""), "; was ", Plan(old or ""), within(step)), at)
    if what in ("duration", "way time"):
        on = " on the way" if what == "way time" else ""
        if old is None or new is None:
            told_old, told_new = old or "the usual time", new or "the usual time"
        else:
            told_old, told_new = _without_unit(old, new)
        return Line(OTHER, (f"takes {told_new}{on}, was {told_old}", *tail), at)
    if what == "call":
        verb = "now calls " if old is None else "no longer calls "
        return Line(sign, (verb, Plan(new or old or ""), " after ", Plan(doing(step)), within(step)), at)
    if what == "remark" and old is not None and new is not None:
        (was, _, _), (now, _, text) = old.partition(": "), new.partition(": ")
        return Line(OTHER, (f"{now} now, was {was}: ", _quoted(text), *tail), at)
    if what.split(" ")[0] in _REMARKS:
        name = "reason" if what == "because" else what
        if old is None or new is None:
            return Line(sign, (f"{'new' if old is None else 'no longer the'} {name} ", _quoted(new or old), *tail), at)
        return Line(OTHER, (f"{name} now ", _quoted(new), ", was ", _quoted(old), *tail), at)
    if what == "order of remarks":
        return Line(OTHER, ("order of remarks now ", Plan(new or ""), ", was ", Plan(old or ""), *tail), at)
    if what in _BOUNDS:
        if old is None or new is None:
            return Line(sign, ("now " if old is None else "no longer ", Plan(new or old or ""), *tail), at)
        return Line(OTHER, ("now ", Plan(new), ", was ", Plan(old), *tail), at)
    if what == "expect":
        return Line(sign, (f"expects {new or 'nothing'}, was {old or 'nothing'}", *tail), at)
    if what.startswith("if "):
        return Line(sign, (f"{what}: ", Plan(new or "no answer"), " now, was ", Plan(old or "no answer"), *tail), at)
    if what.startswith("wait for "):
        return Line(OTHER, ("waits for ", Plan(what.removeprefix("wait for ")), f" {new}, was {old}", *tail), at)
    before, after = (told.cast(names.split(" and ")) if names else "nobody" for names in (old, new))
    word = "carries" if what == "riders" else "done by"
    return Line(OTHER, (f"{word} {after}, was {before}", *tail), at)


def _quoted(text: str | None) -> Plan:
    return Plan(f'"{text}"')


def _without_unit(old: str, new: str) -> tuple[str, str]:
    """``6 min, 4 to 12 min`` as people write it; the unit once in each."""
    return tuple(_bracket(words) for words in (old, new))  # type: ignore[return-value]


def _bracket(words: str) -> str:
    likely, comma, spread = words.partition(", ")
    return f"{likely} ({spread.removesuffix(' min')})" if comma else words


def _wait(told: Told, change: WaitAdded | WaitDropped) -> Line:
    step = change.step.now
    added = isinstance(change, WaitAdded)
    who = told.whose(change.caller.now) if change.caller.now is not None else ""
    call = Plan(change.call)
    sign, at = (NEW if added else GONE), step.at
    doing_it = (Plan(doing(step)), within(step))
    if change.how == "while":
        return Line(sign, ("now" if added else "no longer", f" while {who} ", call, ": ", *doing_it), at)
    if change.ordered is None:
        more = ""
    elif added:
        more = "; the order was so already" if change.ordered else ""
    else:
        more = "; the order stays" if change.ordered else "; nothing else keeps that order"
    verb = "now waits for" if added else "no longer waits for"
    return Line(sign, (f"{verb} {who} ", call, " before ", *doing_it, more), at)


def _reordered(change: StepsReordered) -> Line:
    steps = [one.now for one in change.steps]
    if not change.earlier and len(steps) == 1 and change.past[0] == change.past[1]:  # of two, the one that is first now
        first, second = change.past[0].now, steps[0]
        tail = within(second) if first.task != second.task else ""
        return Line(OTHER, ("now does ", Plan(doing(first)), " before ", Plan(doing(second)), tail), first.at)
    edge = change.past[0] if change.earlier else change.past[-1]
    word = "before" if change.earlier else "after"
    other: StepAt = edge.now
    tasks = change.whole.new if change.whole.new and change.whole.new == change.whole.old else ()
    if tasks:
        what: tuple[str, ...] = ("everything in ", *joined(tasks, " and "))
    elif len(steps) > _SHORTEST:
        what = (Plan(doing(steps[0])), f" and the {len(steps) - 1} steps after it")
    else:
        what = joined(doing(step) for step in steps)
    tail = within(other) if tasks or other.task != steps[0].task else ""
    return Line(OTHER, ("now does ", *what, f" {word} ", Plan(doing(other)), tail), steps[0].at)
