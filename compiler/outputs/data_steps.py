"""Tasks, steps and fallbacks of an excursion as the records of `data_shape`."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.flow.records import Step
from jackstay.model import records as model
from jackstay.outputs import data_shape as shape
from jackstay.outputs.clock import bare
from jackstay.outputs.look import step_id
from jackstay.outputs.views import View, is_idle, is_written, main_step
from jackstay.outputs.wording import entry_text, source_place, step_text


def name_of(thing: model.Thing | None) -> str | None:
    return thing.name if thing is not None else None


def value_of(value: Any) -> shape.Value:
    """A property's value, or a state value: names for things, exact numbers."""
    if isinstance(value, model.Thing):
        return value.name
    if isinstance(value, Fraction):
        return bare(value)
    return value if value is None or isinstance(value, int | str) else str(value)


def call_of(mark: model.Mark) -> str:
    return f"{mark.task.name}.{mark.name}"


def bounds_of(bounds: tuple[model.TimeBound, ...]) -> tuple[shape.Bound, ...]:
    return tuple(
        shape.Bound(
            one.sort,
            bare(one.value),
            call_of(one.mark) if one.mark is not None else None,
            one.word,
            source_place(one.at),
        )
        for one in bounds
    )


def tasks_of(view: View) -> tuple[shape.Task, ...]:
    steps: dict[int, list[Step]] = {}
    for step in view.flow.steps:
        steps.setdefault(id(step.entry.task), []).append(step)
    return tuple(_task(view, task, steps.get(id(task), [])) for task in view.excursion.tasks)


def _task(view: View, task: model.Task, steps: list[Step]) -> shape.Task:
    times = view.times
    mine = [step.index for step in steps if not is_idle(step)] if times is not None else []
    start = end = latest = slack = None
    critical = False
    if times is not None and mine:
        if not any(times.start_open[i] for i in mine):
            start = bare(min(times.start[i] for i in mine))
        if not any(times.end_open[i] for i in mine):
            end = bare(max(times.end[i] for i in mine))
        latest = bare(max(times.latest_end[i] for i in mine))
        slack = bare(min(times.slack[i] for i in mine))
        critical = not set(mine).isdisjoint(times.critical)
    return shape.Task(
        name=task.name,
        title=task.title,
        rank=task.rank,
        after=tuple(one.name for one in task.after),
        source=source_place(task.decl),
        start=start,
        end=end,
        latest_end=latest,
        slack=slack,
        critical=critical,
        steps=tuple(mine),
        only_if=tuple(test.text for test in task.guard.tests) if task.guard is not None else (),
        done_when=tuple(test.text for test in task.done_when),
        bounds=bounds_of(task.bounds),
    )


def steps_of(view: View) -> tuple[shape.Step, ...]:
    if view.times is None:
        return ()
    critical = set(view.times.critical)
    return tuple(_step(view, step, step.index in critical) for step in view.flow.steps)


def _step(view: View, step: Step, critical: bool) -> shape.Step:
    times = view.times
    assert times is not None
    i, entry = step.index, step.entry
    seconds, triple = times.durations[i], times.triples[i]
    own = main_step(view.of_entry[entry.index]) is step  # what is said of the entry is said once
    expect = entry.expect if own else None
    return shape.Step(
        identity=step_id(view, step),
        index=i,
        task=entry.task.name,
        cast=tuple(actor.name for actor in step.cast),
        text=step_text(step),
        place=name_of(entry.block.place),
        seat=name_of(entry.block.seat),
        written=is_written(step),
        inserted=step.inserted,
        route=tuple(one.name for one in step.route),
        duration=bare(seconds) if seconds is not None else None,
        least=bare(triple.least) if triple is not None else None,
        most=bare(triple.most) if triple is not None else None,
        start=None if times.start_open[i] else bare(times.start[i]),
        end=None if times.end_open[i] else bare(times.end[i]),
        start_at_least=bare(times.start[i]),
        end_at_least=bare(times.end[i]),
        latest_start=bare(times.latest_start[i]),
        latest_end=bare(times.latest_end[i]),
        slack=bare(times.slack[i]),
        critical=critical,
        after=tuple(sorted({*view.flow.predecessors[i]})),
        waits=tuple(call_of(wait.mark) for wait in view.waits.get(i, ())),
        beside=tuple(call_of(wait.mark) for wait in view.beside.get(i, ())),
        says=view.calls[i].name if i in view.calls else None,
        because=entry.because if own else None,
        expect=shape.Expect(bare(expect.low.value), bare(expect.high.value), expect.text) if expect else None,
        remarks=tuple(shape.Remark(one.sort, one.text, source_place(one.at)) for one in entry.remarks) if own else (),
        answers=tuple(_answer(one) for one in entry.answers) if own else (),
        bounds=bounds_of(entry.bounds) if own else (),
        changes=tuple(_change(view.world, one) for one in step.changes),
        source=source_place(entry.at),
    )


def _answer(answer: model.Answer) -> shape.Answer:
    fallback = answer.fallback.name if answer.fallback is not None else None
    return shape.Answer(answer.outcome, fallback, source_place(answer.at))


def _change(world: model.World, change: Any) -> shape.Change:
    var = world.variables[change.var]
    return shape.Change(
        var.thing.name,
        var.sort,
        var.prop or None,
        _state(var.sort, change.before),
        _state(var.sort, change.after),
    )


def _state(sort: str, value: Any) -> shape.Value:
    if sort == "held":
        return ", ".join(f"{one.manner} {one.holder.name}" for one in value or ()) or None
    return value_of(value)


def fallbacks_of(view: View) -> tuple[shape.Fallback, ...]:
    return tuple(_fallback(view, one) for one in view.excursion.fallbacks)


def _fallback(view: View, fallback: model.Fallback) -> shape.Fallback:
    callers = [
        shape.Call(main_step(steps).index, answer.outcome)
        for _, steps in sorted(view.of_entry.items())
        for answer in steps[0].entry.answers
        if answer.fallback is fallback
    ]
    return shape.Fallback(
        name=fallback.name,
        title=fallback.title,
        source=source_place(fallback.decl),
        from_call=call_of(fallback.mark) if fallback.mark is not None else None,
        instead=tuple(one.name for one in fallback.instead),
        then=tuple(one.name for one in fallback.then),
        callers=tuple(callers),
        steps=tuple(
            shape.CardStep(
                tuple(actor.name for actor in entry.cast),
                entry_text(entry),
                name_of(entry.block.place),
                name_of(entry.block.seat),
                source_place(entry.at),
            )
            for entry in fallback.body.entries
        ),
    )
