"""Under a timeline's table: who waits how long, the clock against its limit, the light, the critical chain."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from jackstay.model.records import Mark, Thing
from jackstay.outputs.clock import clock, minutes, total
from jackstay.outputs.paper import heading, row
from jackstay.outputs.views import View, is_idle
from jackstay.outputs.wording import caller, label, labels, source_place, spoken, step_text
from jackstay.timing.judging import who_go_out
from jackstay.timing.records import Times

ZERO = Fraction(0)
TURNS = 60  # changes of light printed at most


def balance(view: View, times: Times) -> Iterator[str]:
    """``Teal waits 41 min, then ends; Wren ends 38 min later.`` Of those who go outside; of everybody if fewer than two
    do."""
    going = [actor for actor in who_go_out(view.flow) if actor in times.actor_end]
    ends = {actor: times.actor_end[actor] for actor in (going if len(going) > 1 else list(times.actor_end))}
    if len(ends) < 2:
        return
    order = sorted(ends, key=lambda actor: (ends[actor], actor.index))
    first = order[0]
    parts = [f"{label(first)} {_idles(times, first)} and ends at {total(ends[first], times.actor_open[first])}"]
    for actor in order[1:]:
        apart = ends[actor] - ends[first]
        vague = "~" if times.actor_open[actor] or times.actor_open[first] else ""
        when = f"ends {vague}{minutes(apart)} later" if apart or vague else "ends at the same time"
        parts.append(f"{label(actor)} {_idles(times, actor)} and {when}")
    yield f"Balance: {'; '.join(parts)}."


def _idles(times: Times, actor: Thing) -> str:
    idle = sum((delay.until - delay.since for delay in times.delays if delay.actor is actor), ZERO)
    vague = any(times.start_open[delay.step] for delay in times.delays if delay.actor is actor)
    return f"idles {'~' if vague else ''}{minutes(idle)}" if idle or vague else "never idles"


def clock_lines(view: View, times: Times) -> Iterator[str]:
    """The limit and the reserve as times of the excursion, and what is left at its end."""
    excursion = view.excursion
    if excursion.clock_starts is not None or excursion.clock_ends is not None:
        begins = _called(excursion.clock_starts, "with the first step")
        ends = _called(excursion.clock_ends, "with the last step")
        yield f"The clock starts {begins} at {clock(times.clock_zero)} and stops {ends} at {clock(times.clock_end)}."
    if excursion.limit is None:
        return
    shows = times.clock_end - times.clock_zero
    reserve = excursion.reserve.value if excursion.reserve is not None else ZERO
    last = times.clock_zero + excursion.limit.value
    left = excursion.limit.value - reserve - shows
    how = f"{minutes(left)} to spare" if left >= 0 else f"{minutes(-left)} past it"
    how += " at best" if times.makespan_open else ""
    text = f"At the end the clock shows {total(shows, times.makespan_open)}."
    if reserve:
        yield f"{text} The reserve is touched at {clock(last - reserve)} ({how}); the limit is over at {clock(last)}."
    else:
        yield f"{text} The limit is over at {clock(last)} ({how})."


def _called(mark: Mark | None, otherwise: str) -> str:
    return f'with {caller(mark)}\'s call "{spoken(mark)}"' if mark is not None else otherwise


def changes_of_light(view: View, times: Times) -> list[tuple[Fraction, str]]:
    """(seconds, what it becomes) up to the end of the excursion."""
    light = view.excursion.light
    if light is None or light.dark.value <= 0:
        return []
    found: list[tuple[Fraction, str]] = []
    at = light.first.value
    while at < times.makespan and len(found) < TURNS:
        found.append((at, f"dark until {clock(at + light.dark.value)}"))
        if light.dark.value < light.every.value:
            found.append((at + light.dark.value, f"light until {clock(at + light.every.value)}"))
        at += light.every.value
    return [turn for turn in found if turn[0] < times.makespan]


def light_lines(view: View, times: Times) -> Iterator[str]:
    """When it is dark, as far as the excursion goes."""
    dark = [text.removeprefix("dark until ") for _, text in changes_of_light(view, times) if text.startswith("dark")]
    begins = [clock(at) for at, text in changes_of_light(view, times) if text.startswith("dark")]
    if dark:
        yield f"Dark from {', '.join(f'{a} to {b}' for a, b in zip(begins, dark, strict=True))}."
    elif view.excursion.light is not None:
        yield "It is light all the time."


def chain_rows(view: View, times: Times) -> list[str]:
    """The critical chain, step by step. Steps that take no time are left out."""
    steps = [view.flow.steps[i] for i in times.critical if not is_idle(view.flow.steps[i]) or i in view.calls]
    steps = [step for step in steps if times.end[step.index] > times.start[step.index]]
    if not steps:
        return []
    length = times.makespan - times.start[steps[0].index]
    lines = ["", *heading(f"the critical chain: {minutes(length)}, each step as soon as the one before lets it")]
    for step in steps:
        mark = ">" if step.inserted else " "
        spent = minutes(times.durations[step.index])
        first = f"  {clock(times.start[step.index]):>5} {spent:>11} {mark} "
        lines += row(f"{labels(step.cast)}: {step_text(step)}", first, source_place(step.entry.at))
    return lines
