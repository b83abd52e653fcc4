"""The nominal timeline: who does what when, if everything takes its usual time."""

from __future__ import annotations

from fractions import Fraction

from jackstay.flow.records import Step
from jackstay.model.records import Thing
from jackstay.outputs.balance import balance, chain_rows, changes_of_light, clock_lines, light_lines
from jackstay.outputs.clock import LEGEND, about, clock, minutes, total
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.paper import columns, heading, row, wrap
from jackstay.outputs.supplies import supply_lines
from jackstay.outputs.views import NOT_WORKED_OUT, View, is_anchor, is_idle
from jackstay.outputs.wayhome import home_lines
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
from jackstay.outputs.words import said
from jackstay.timing.records import Times

INDENT = " " * 29


def timeline(views: list[View], frame: Frame) -> str:
    """timeline.txt"""
    lines = frame.head("Nominal timeline")
    lines += wrap(frame.said.put(LEGEND))
    about_marks = (
        "'>' marks what the plan does not write and the compiler inserted: the way to a heading's place, a tool "
        "drawn for a step and put back after it. The second time is the latest start that moves neither the end of the "
        "excursion nor a `by` or `within` that is kept; '*' and no second time: it cannot start later."
    )
    lines += wrap(frame.said.put(about_marks))
    for view in views:
        lines += ["", *excursion_head(view, len(views))]
        lines += [NOT_WORKED_OUT] if view.times is None else _excursion(view, view.times)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _excursion(view: View, times: Times) -> list[str]:
    lines = ["", *_totals(view, times)]
    more = [*supply_lines(view.world, view.flow, times), *home_lines(view, times)]
    for text in (*balance(view, times), *clock_lines(view, times), *light_lines(view, times), *more):
        lines += wrap(text, "  ")
    for actor, steps in view.own.items():
        lines += ["", *heading(label(actor))]
        if not steps:
            lines.append("  no steps")
        turns = changes_of_light(view, times)
        for step in steps:
            while turns and turns[0][0] <= times.start[step.index]:
                at, text = turns.pop(0)
                lines.append(f"  {clock(at):>5}  -- {text} --")
            lines += _rows(view, times, actor, step)
    lines += chain_rows(view, times)
    blank = [step for step in view.flow.steps if times.durations[step.index] is None]
    if blank:
        lines += ["", *heading(f"{len(blank)} without a duration: every later time that hangs on one is a lower bound")]
        for step in blank:
            lines += row(f"{labels(step.cast)}: {step_text(step)}", "  ", source_place(step.entry.at))
    return lines


def _totals(view: View, times: Times) -> list[str]:
    table = [["", "ends", "at written steps", "at inserted ones", "waits", "load", "steps", "no duration"]]
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
                _load(spent[False] + spent[True], times.makespan),
                str(written),
                str(blank) if blank else "-",
            ]
        )
    whole = total(times.makespan, times.makespan_open)
    return [*columns(table, range(1, 8)), *wrap(f"The whole {said(view.world).excursion}: {whole}.", "  ")]


def _load(busy: Fraction, whole: Fraction) -> str:
    """The share of the whole excursion spent at steps."""
    return f"{int(busy / whole * 100 + Fraction(1, 2))} %" if whole else "-"


def _rows(view: View, times: Times, actor: Thing, step: Step) -> list[str]:
    i = step.index
    lines = _waiting(view, times, actor, step)
    if is_idle(step) and i not in view.calls:
        return lines
    mark = ">" if step.inserted else " "
    late = f"{clock(times.latest_start[i]):>5} " if times.slack[i] else "    * "
    begins = f"{clock(times.start[i]):>5}{'+' if times.start_open[i] else ' '}"
    first = f"  {begins} {late} {minutes(times.durations[i]):>11} {mark} "
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
        cause = awaited(view.flow.steps, actor, delay, "for the clock (not before)")
        lines += wrap(f"wait {length} {cause}", INDENT)
    return lines


def _since_open(view: View, times: Times, actor: Thing, step: Step) -> bool:
    """Whether the end of the actor's own step before is a lower bound."""
    own = view.own[actor]
    at = own.index(step)
    return at > 0 and times.end_open[own[at - 1].index]
