"""The nominal timeline: who does what when, if everything takes its usual time."""

from __future__ import annotations

from fractions import Fraction

from jackstay.flow.records import Step
from jackstay.model.records import Excursion, Thing
from jackstay.outputs.clock import LEGEND, about, clock, minutes, total
from jackstay.outputs.frame import Frame
from jackstay.outputs.paper import columns, heading, row, wrap
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_anchor, is_idle, others
from jackstay.outputs.wording import (
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
from jackstay.timing.records import Times

INDENT = " " * 22


def timeline(views: list[View], frame: Frame) -> str:
    """timeline.txt"""
    lines = frame.head("Nominal timeline")
    lines += wrap(LEGEND)
    lines += wrap(
        "'>' marks what the plan does not write and the compiler inserted: the way to a heading's place, a tool "
        "drawn for a step and put back after it."
    )
    for view in views:
        lines += ["", *excursion_head(view, len(views))]
        lines += [NOT_WORKED_OUT] if view.times is None else _excursion(view, view.times)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def excursion_head(view: View, of: int) -> list[str]:
    """The title line of an excursion, and what its clock, limit and light are."""
    excursion = view.excursion
    lines = heading(
        f"Excursion {view.number} of {of}: {excursion.title} [{excursion.name}]", source_place(excursion.decl), "="
    )
    lines += wrap(frame_of_time(excursion))
    return lines


def frame_of_time(excursion: Excursion) -> str:
    parts = [
        f"Clock from {excursion.clock}." if excursion.clock else "No clock named: times count from the first step."
    ]
    if excursion.limit is not None:
        reserve = f", with a reserve of {excursion.reserve.text}" if excursion.reserve is not None else ""
        parts.append(f"Limit {excursion.limit.text}{reserve}.")
    if excursion.light is not None:
        dark, every, first = excursion.light
        parts.append(f"Dark {dark.text} of every {every.text}, first at {first.text}.")
    return " ".join(parts)


def _excursion(view: View, times: Times) -> list[str]:
    lines = ["", *_totals(view, times)]
    for actor, steps in view.own.items():
        lines += ["", *heading(label(actor))]
        if not steps:
            lines.append("  no steps")
        for step in steps:
            lines += _rows(view, times, actor, step)
    blank = [step for step in view.flow.steps if times.durations[step.index] is None]
    if blank:
        lines += ["", *heading(f"{len(blank)} without a duration: every later time that hangs on one is a lower bound")]
        for step in blank:
            lines += row(f"{labels(step.cast)}: {step_text(step)}", "  ", source_place(step.entry.at))
    return lines


def _totals(view: View, times: Times) -> list[str]:
    table = [["", "ends", "at written steps", "at inserted ones", "waits for others", "steps", "no duration"]]
    for actor, steps in view.own.items():
        spent = {True: Fraction(0), False: Fraction(0)}
        for step in steps:
            spent[step.inserted] += times.durations[step.index] or 0
        delays = [d for d in times.delays if d.actor is actor]
        waiting = sum((d.until - d.since for d in delays), Fraction(0))
        vague = any(times.start_open[d.step] for d in delays)
        blank = sum(1 for step in steps if times.durations[step.index] is None)
        done = total(times.actor_end[actor], times.actor_open[actor]) if actor in times.actor_end else "-"
        written = sum(1 for step in steps if not step.inserted and not is_idle(step))
        table.append(
            [
                label(actor),
                done,
                total(spent[False], blank > 0),
                total(spent[True]),
                f"{'~' if vague else ''}{total(waiting)}",
                str(written),
                str(blank) if blank else "-",
            ]
        )
    whole = total(times.makespan, times.makespan_open)
    return [*columns(table, range(1, 7)), *wrap(f"The whole excursion: {whole}.", "  ")]


def _rows(view: View, times: Times, actor: Thing, step: Step) -> list[str]:
    i = step.index
    lines = _waiting(view, times, actor, step)
    if is_idle(step) and i not in view.calls:
        return lines
    mark = ">" if step.inserted else " "
    first = (
        f"  {clock(times.start[i]):>5}{'+' if times.start_open[i] else ' '} {minutes(times.durations[i]):>11} {mark} "
    )
    text = who_does(step.cast, actor, "with {}: ") + step_text(step)
    if step.entry.bounds and is_anchor(view, actor, step):
        text += f" ({', '.join(bound_text(bound) for bound in step.entry.bounds)})"
    if i in view.calls:
        said = view.calls[i]
        text += f'; call "{spoken(said)}"' if speaks(said, actor) else f'; {caller(said)} calls "{spoken(said)}"'
    lines += row(text, first, source_place(step.entry.at))
    for stretch in times.stretches:
        if stretch.step == i:
            inner = view.flow.steps[stretch.companion]
            held = (
                f"held open {minutes(stretch.by)} more, until {labels(inner.cast)} is through with: {step_text(inner)}"
            )
            lines += wrap(held, INDENT)
    return lines


def _waiting(view: View, times: Times, actor: Thing, step: Step) -> list[str]:
    """What the actor stands still for before the step, call by call, and how long at the earliest times."""
    i = step.index
    lines: list[str] = []
    delay = view.delays.get((actor, i))
    length = ""
    if delay is not None:
        since_open = _since_open(view, times, actor, step)
        length = about(delay.until - delay.since, times.start_open[i])
        length += f" from {clock(delay.since, since_open)}"
    told = False
    for wait in view.waits.get(i, ()):
        if delay is not None and delay.mark is wait.mark:
            how, told = length, True
        else:
            how = "perhaps said by then" if times.start_open[i] else "said by then"
        lines += wrap(f'wait for {caller(wait.mark)}: "{spoken(wait.mark)}" ({how})', INDENT)
    for wait in view.beside.get(i, ()):
        lines += wrap(f'beside {caller(wait.mark)}, up to "{spoken(wait.mark)}"', INDENT)
    if delay is not None and not told:
        lines += wrap(f"wait {length} {_for_whom(view, actor, delay.cause)}", INDENT)
    return lines


def _since_open(view: View, times: Times, actor: Thing, step: Step) -> bool:
    """Whether the end of the actor's own step before is a lower bound."""
    own = view.own[actor]
    at = own.index(step)
    return at > 0 and times.end_open[own[at - 1].index]


def _for_whom(view: View, actor: Thing, cause: int | None) -> str:
    if cause is None:
        return "for the clock (not before)"
    step = view.flow.steps[cause]
    return f"for {labels(others(step.cast, actor) or list(step.cast))}, who first has: {step_text(step)}"
