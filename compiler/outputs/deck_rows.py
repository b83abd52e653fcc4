"""One step as rows of a card: what it waits for, the remarks before it, itself, and what stands under it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from jackstay.flow.records import Step
from jackstay.model.records import Entry, Fallback, Remark, Task, Thing, Wait
from jackstay.outputs.clock import about, clock, minutes
from jackstay.outputs.deck_carry import tools_of
from jackstay.outputs.deck_records import Answer, Row
from jackstay.outputs.look import step_id
from jackstay.outputs.views import View, is_anchor, is_idle, is_written
from jackstay.outputs.wording import (
    awaited,
    bound_text,
    caller,
    label,
    labels,
    source_place,
    speaks,
    spoken,
    step_text,
    who_does,
)

REQUIRED = "required"  # the rank that no one may drop; ranks are part of the grammar
Numbers = dict[Fallback, str]  # the number of each fallback's card


def step_rows(view: View, actor: Thing, step: Step, number: int, cards: Numbers) -> Iterator[Row]:
    """The rows of one step in its actor's list; none for an arrival where everybody already is."""
    main = is_anchor(view, actor, step)
    yield from wait_rows(view, actor, step)
    if main:
        for remark in step.entry.remarks:
            yield remark_row(remark)
    call, who_calls = _call(view, actor, step)
    under = under_rows(step.entry) if main else ()
    answers = answers_of(step.entry, cards) if main else ()
    expect = step.entry.expect.text if main and step.entry.expect is not None else ""
    if is_idle(step):
        if call or under or answers or expect:
            yield Row(
                "call",
                f"at {label(step.entry.block.place)}" if step.entry.block.place is not None else "",
                call=call,
                caller=who_calls,
                under=under,
                answers=answers,
                source=source_place(step.entry.at),
            )
        return
    yield Row(
        "step" if is_written(step) else "way",
        step_text(step),
        who=who_does(step.cast, actor).removesuffix(": "),
        clock=_start(view, step),
        lasts=_lasts(view, step),
        number=str(number) if is_written(step) else "",
        call=call,
        caller=who_calls,
        expect=expect,
        tools=labels(tools_of(step.action, step.binding)) if is_written(step) else "",
        under=under,
        answers=answers,
        source=source_place(step.entry.at),
        step=step_id(view, step),
    )


def wait_rows(view: View, actor: Thing, step: Step) -> Iterator[Row]:
    """What the actor stands still for before the step, each call by its words; and how long at the nominal times."""
    times, i, told = view.times, step.index, False
    delay = view.delays.get((actor, i))
    lasts = ""
    if delay is not None and times is not None:
        lasts = f"{about(delay.until - delay.since, times.start_open[i])}, until {_start(view, step)}"
    for wait in view.waits.get(i, ()):
        here = delay is not None and delay.mark is wait.mark
        if not here and wait.mark.entry is not None and actor in wait.mark.entry.cast:
            continue  # the actor's own step: there is nothing to listen for
        told = told or here
        words = lasts if here else "said by then" if times is None or not times.start_open[i] else "may be said by then"
        yield wait_row(wait, words)
    for wait in view.beside.get(i, ()):
        yield beside_row(wait)
    if delay is not None and not told:
        yield Row("wait", awaited(view.flow.steps, actor, delay, "for the clock: not before then"), lasts=lasts)


def wait_row(wait: Wait, lasts: str = "") -> Row:
    return Row("wait", f"for {caller(wait.mark)}", call=spoken(wait.mark), lasts=lasts)


def beside_row(wait: Wait) -> Row:
    return Row("beside", f"{caller(wait.mark)}, once the step that ends with", call=spoken(wait.mark))


def remark_row(remark: Remark) -> Row:
    return Row(remark.sort, remark.text, source=source_place(remark.at))


def under_rows(entry: Entry) -> tuple[tuple[str, str], ...]:
    """Bounds of the step itself, then the reason."""
    found = [("when", ", ".join(bound_text(bound) for bound in entry.bounds))] if entry.bounds else []
    return (*found, *((("why", entry.because),) if entry.because else ()))


def answers_of(entry: Entry, cards: Numbers) -> tuple[Answer, ...]:
    return tuple(
        Answer(answer.outcome, "go on", "")
        if answer.fallback is None
        else Answer(answer.outcome, f"card {cards[answer.fallback]}, {answer.fallback.name}", cards[answer.fallback])
        for answer in entry.answers
    )


def task_row(task: Task) -> Row:
    """A task's heading, where an actor comes to it."""
    under = []
    if task.rank != REQUIRED:
        under.append((f"may be dropped ({task.rank})", "leave out all of it when told"))
    if task.guard is not None:
        under.append(("only if", " and ".join(test.text for test in task.guard.tests)))
    if task.after:
        under.append(("after", ", ".join(one.title for one in task.after)))
    if task.along_with:
        under.append(("only with", ", ".join(one.title for one in task.along_with)))
    if task.bounds:
        under.append(("when", ", ".join(bound_text(bound) for bound in task.bounds)))
    if task.done_when:
        under.append(("done when", " and ".join(test.text for test in task.done_when)))
    return Row("task", task.title, under=tuple(under), source=source_place(task.decl))


def _call(view: View, actor: Thing, step: Step) -> tuple[str, str]:
    """The words said at the step's end, and who says them (empty: the reader)."""
    said = view.calls.get(step.index)
    if said is None:
        return "", ""
    return spoken(said), "" if speaks(said, actor) else caller(said)


def _start(view: View, step: Step) -> str:
    times = view.times
    return clock(times.start[step.index], times.start_open[step.index]) if times is not None else ""


def _lasts(view: View, step: Step) -> str:
    return minutes(view.times.durations[step.index] if view.times is not None else None)


def light_row(at: Fraction, words: str) -> Row:
    return Row("light", words, clock=clock(at))
