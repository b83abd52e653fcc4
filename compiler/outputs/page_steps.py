"""An excursion's steps as the review page reads them: when, who, what each needs and makes, and why it waits.

Short keys keep a long plan small; `review/README.md` lists them. Steps are named by their index in the excursion."""

from __future__ import annotations

from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import Entry, Thing, World
from jackstay.outputs.clock import minutes
from jackstay.outputs.custody import hangs_of
from jackstay.outputs.look import step_id
from jackstay.outputs.page_words import Files, Words, becomes, bound_words, plain, says
from jackstay.outputs.situation import place
from jackstay.outputs.views import View, is_anchor, is_idle, is_written, others
from jackstay.outputs.wording import bound_text, caller, labels, spoken, step_text
from jackstay.timing.records import Delay, Times

MOST_NEEDS = 24  # told of one step


def steps_data(world: World, view: View, words: Words, files: Files) -> list[dict[str, Any]]:
    times = view.times
    assert times is not None
    critical = set(times.critical)
    writer: dict[int, int] = {}
    state = list(view.flow.start)
    found = []
    for step in view.flow.steps:
        data = _times(times, step)
        data |= {
            "id": step_id(view, step),
            "w": [actor.index for actor in step.cast],
            "x": words(step_text(step)),
            "a": files(step.entry.at),
            "k": view.excursion.tasks.index(step.entry.task) if step.entry.task in view.excursion.tasks else -1,
            "p": sorted({*view.flow.predecessors[step.index]}),
        }
        block = step.entry.block
        data["b"] = [_index(block.place), _index(block.seat)]
        for key, told in (("n", step.inserted), ("c", step.index in critical), ("wr", is_written(step))):
            if told:
                data[key] = 1
        if is_idle(step):
            data["idle"] = 1
        if step.why:
            data["y"] = words(step.why)
        data |= _calls(view, step, words)
        data |= _needs(world, step, state, writer, words)
        for change in step.changes:
            state[change.var] = change.after
            writer[change.var] = step.index
        data |= _makes(world, step, state, words)
        if any(is_anchor(view, actor, step) for actor in step.cast):
            data |= _remarks(step.entry, words)
        found.append({key: value for key, value in data.items() if value not in (None, [])})
    return found


def _index(thing: Thing | None) -> int:
    return thing.index if thing is not None else -1


def _times(times: Times, step: Step) -> dict[str, Any]:
    """s, e: start and end; l: the latest start, where it is later; o: 1 start, 2 end, 3 both are lower bounds."""
    i = step.index
    data: dict[str, Any] = {"s": plain(times.start[i]), "e": plain(times.end[i])}
    seconds, triple = times.durations[i], times.triples[i]
    data["d"] = plain(seconds) if seconds is not None else None
    if triple is not None and not triple.certain:
        data["tr"] = [plain(triple.least), plain(triple.most)]
    if times.slack[i]:
        data["l"] = plain(times.latest_start[i])
    data["o"] = (1 if times.start_open[i] else 0) + (2 if times.end_open[i] else 0) or None
    return data


def _calls(view: View, step: Step, words: Words) -> dict[str, Any]:
    """wt, bs: [call, who says it, the step that ends with it]; say: [call, who says it]."""

    def told(wait: Any) -> list[int]:
        said = [i for i, mark in view.calls.items() if mark is wait.mark]
        return [words(spoken(wait.mark)), words(caller(wait.mark)), said[0] if said else -1]

    data: dict[str, Any] = {
        "wt": [told(wait) for wait in view.waits.get(step.index, ())],
        "bs": [told(wait) for wait in view.beside.get(step.index, ())],
    }
    mark = view.calls.get(step.index)
    if mark is not None:
        data["say"] = [words(spoken(mark)), words(caller(mark)), words(f"{mark.task.name}.{mark.name}")]
    return data


def _needs(world: World, step: Step, state: list[Any], writer: dict[int, int], words: Words) -> dict[str, Any]:
    """r: [what stands so, the step that made it so or -1]; q: what the vocabulary asks for."""
    reads = [[words(says(world.variables[var], state[var])), writer.get(var, -1)] for var in step.reads[:MOST_NEEDS]]
    data: dict[str, Any] = {"r": reads}
    if len(step.reads) > MOST_NEEDS:
        data["rr"] = len(step.reads) - MOST_NEEDS
    if step.action is not None:
        tests = (*step.action.needs, *step.action.uses, *step.action.during)
        data["q"] = list(dict.fromkeys(words(bound_words(test, step.binding)) for test in tests))
    return data


def _makes(world: World, step: Step, state: list[Any], words: Words) -> dict[str, Any]:
    """m: what it changes, in words; g: [thing, how it hangs then] of what the page moves about."""
    data: dict[str, Any] = {"m": [], "g": []}
    moved: dict[Thing, None] = {}
    for change in step.changes:
        var = world.variables[change.var]
        if change.before == change.after:
            continue
        data["m"].append(words(becomes(var, change.before, change.after)))
        if var.sort != "property":
            moved[var.thing] = None
    data["g"] = [[thing.index, hang(state, thing)] for thing in moved]
    return data


def hang(state: Any, thing: Thing) -> Any:
    """An actor: what it is on. An item: [[[manner, holder], …], near end, far end], the ends only of a line."""
    if thing.sort == "actor":
        return _index(place(state, thing))
    held, first, second = hangs_of(state, thing)
    on = [[one.manner or "", one.holder.index] for one in held]
    return [on, _index(first), _index(second)] if first is not None or second is not None else [on]


def _remarks(entry: Entry, words: Words) -> dict[str, Any]:
    data: dict[str, Any] = {
        "rm": [[remark.sort, words(remark.text)] for remark in entry.remarks],
        "bd": [words(bound_text(bound)) for bound in entry.bounds],
        "an": [
            [words(answer.outcome), words(answer.fallback.name) if answer.fallback is not None else -1]
            for answer in entry.answers
        ],
    }
    if entry.expect is not None:
        data["ex"] = words(entry.expect.text)
    if entry.because:
        data["bc"] = words(entry.because)
    return data


def delays_data(view: View, words: Words) -> list[list[Any]]:
    """[actor, step, since, until, why, the step waited for or -1] of everybody who stands still."""
    assert view.times is not None
    return [
        [
            delay.actor.index,
            delay.step,
            plain(delay.since),
            plain(delay.until),
            words(_why(view, delay)),
            delay.cause if delay.cause is not None else -1,
        ]
        for delay in view.times.delays
        if delay.until > delay.since
    ]


def _why(view: View, delay: Delay) -> str:
    length = minutes(delay.until - delay.since)
    if delay.mark is not None:
        return f'waits {length} for {caller(delay.mark)}: "{spoken(delay.mark)}"'
    if delay.why == "light":
        return f"waits {length} for the light"
    if delay.cause is None:
        return f"waits {length} for the clock"
    step = view.flow.steps[delay.cause]
    who = labels(others(step.cast, delay.actor) or list(step.cast))
    if delay.why == "within":
        return f"waits {length}, so as not to be through too long before {who}: {step_text(step)}"
    return f"waits {length} for {who}, who first has: {step_text(step)}"
