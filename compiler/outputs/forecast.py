"""The forecast as a page and as data: what may become of the plan's times when its steps take longer or shorter."""

from __future__ import annotations

import json
from collections.abc import Iterable
from fractions import Fraction
from math import inf, isinf, sqrt
from typing import Any

from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Excursion
from jackstay.outputs.clock import MINUTE, clock, total
from jackstay.outputs.frame import frame_of
from jackstay.outputs.paper import columns, heading, row, wrap
from jackstay.outputs.views import NOT_WORKED_OUT
from jackstay.outputs.wording import bound_text, label, labels, source_place, step_text
from jackstay.outputs.words import Said
from jackstay.timing.sampling_forecast import SURE, Answer, Extra, Extras, Forecast, Spread
from jackstay.timing.sampling_network import plain

SCHEMA = "jackstay.forecast/1"
MOST_STEPS = 12  # steps printed of each excursion; the data has all
Found = list[tuple[ExcursionFlow, Forecast | None]]


def as_text(checked: Any, found: Found, samples: int, seed: int) -> str:
    frame = frame_of(checked, unchecked=False)
    lines = frame.head("Forecast")
    about = (
        f"{samples} runs of each excursion, seed {seed}: every step's length is drawn from its three numbers, and each "
        "step starts as early as order, clock and light allow. Lengths given by one number do not vary. Nobody gives "
        "up, drops work or takes a fallback. Times are h:mm from the excursion's start, a begun minute counted whole."
    )
    lines += wrap(frame.said.put(about))
    for number, (flow, one) in enumerate(found, start=1):
        title = f"{frame.said.heading} {number} of {len(found)}: {flow.excursion.title} [{flow.excursion.name}]"
        lines += ["", *heading(title, source_place(flow.excursion.decl), "=")]
        lines += [NOT_WORKED_OUT] if one is None else _excursion(one, frame.said)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _excursion(one: Forecast, words: Said) -> list[str]:
    lines = [*wrap(_said_in_common(one))]
    if not one.uncertain:
        lines += wrap(
            "Nothing is uncertain: no step's length is given by three numbers, so every run ends alike. "
            "Give a length as [12 min, 9 to 20] where it may vary."
        )
    lines += _not_covered(one)
    lines += ["", *columns(_ends(one, words.excursion), range(1, 4))]
    if one.uncertain:
        lines += _why_sooner(one)
    lines += _bounds(one)
    lines += _home(one)
    lines += _crew(one, words)
    lines += _tasks(one)
    if one.uncertain:
        lines += _steps(one)
    lines += _extras(one, words)
    return lines


def _said_in_common(one: Forecast) -> str:
    if one.excursion.slow_day is None:
        return (
            "No `slow day` is written: each step varies for itself. A crew that is slow at one thing is often slow at "
            "the next, and then late ends come more often than is said here."
        )
    return (
        f"Slow day {one.common.run:g}, each {one.common.each:g}: these shares of the spread are common to a whole "
        "run, and to all that one of the crew does on it; a step of several goes by who is named first."
    )


def _not_covered(one: Forecast) -> list[str]:
    lines: list[str] = []
    if one.blank:
        lines += ["", *heading(f"Not decided: {len(one.blank)} without a duration")]
        lines += wrap(
            "They are counted as taking no time: ends may be later than said, and chances look better than they are.",
            "  ",
        )
        for index in one.blank:
            step = one.flow.steps[index]
            lines += row(f"{labels(step.cast)}: {step_text(step)}", "  ", source_place(step.entry.at))
    for index in one.unlit:
        step = one.flow.steps[index]
        text = f"Not decided: no stretch of the light it needs is long enough for: {step_text(step)}"
        lines += row(text, "  ", source_place(step.entry.at))
    return lines


# --- the end ---------------------------------------------------------------------------------------------------------


def _ends(one: Forecast, word: str) -> list[list[str]]:
    both = one.together is not one.alone
    names = ["as written", "each for itself"] if both else ["each for itself"]
    answers = [one.together, one.alone] if both else [one.alone]
    classic = one.pert
    table = [[f"the {word}", *names, *([""] if not both else []), "classic PERT"]]

    def line(name: str, cells: list[str], last: str) -> None:
        table.append([name, *cells, *([""] if not both else []), last])

    line("ends on average at", [_at(a.end.mean) for a in answers], _at(classic.mean))
    line("give or take", [_long(a.end.deviation) for a in answers], _long(classic.spread))
    line("1 run in 10 ends by", [_at(a.end.early) for a in answers], "")
    line("half end by", [_at(a.end.half) for a in answers], "")
    line("9 in 10 end by", [_at(a.end.late) for a in answers], "")
    excursion = one.excursion
    on_clock = excursion.clock_starts is not None or excursion.clock_ends is not None
    if on_clock:
        line("its clock: average", [_at(a.on_clock.mean) for a in answers], "")
        line("9 in 10 within", [_at(a.on_clock.late) for a in answers], "")
    limit, reserve = excursion.limit, excursion.reserve
    if limit is not None:
        inside = "" if on_clock else _chance(classic.chance(plain(limit.value)), one, exact=True)
        line(f"inside the limit, {limit.text}", [_chance(a.inside, one) for a in answers], inside)
        if reserve is not None:
            goal = limit.value - reserve.value
            inside = "" if on_clock else _chance(classic.chance(plain(goal)), one, exact=True)
            line(f"less the reserve, {total(goal)}", [_chance(a.inside_reserve, one) for a in answers], inside)
    if not both:
        for cells in table:
            del cells[2]
    return table


def _why_sooner(one: Forecast) -> list[str]:
    sooner = one.alone.end.mean - one.pert.mean
    text = (
        f"Classic PERT adds up the path that is critical on average ({len(one.pert.path)} steps) and forgets all others"
    )
    noise = 3 * one.alone.end.deviation / sqrt(one.samples)
    if sooner >= max(MINUTE / 2, noise):
        text += (
            ". Where paths join, the later one counts, and that is not always the same one: so it ends "
            f"{_long(sooner)} too soon, even with each step varying for itself."
        )
    else:
        text += "; here they hardly matter." if abs(sooner) < MINUTE / 2 else "."
    return ["", *wrap(text, "  ")]


def _bounds(one: Forecast) -> list[str]:
    if not one.bounds:
        return []
    lines = ["", *heading("What has to be kept, and the chance that it is")]
    for number, (bound, index) in enumerate(one.bounds):
        step = one.flow.steps[index]
        chance = _chance(one.together.bounds[number], one)
        text = f"{bound_text(bound)}: {step_text(step)}{_beside(one, one.alone.bounds[number])}"
        lines += row(text, f"  {chance:>9}  ", source_place(bound.at))
    return lines


def _home(one: Forecast) -> list[str]:
    if one.together.home is None:
        return []
    lines = ["", *heading("The way home: the chance that it is once longer than what is left of the limit")]
    names = [*(label(actor) for actor in one.outside), "anybody"]
    together, alone = (*one.together.homes, one.together.home), (*one.alone.homes, one.alone.home)
    for name, chance, other in zip(names, together, alone, strict=True):
        lines += wrap(f"{name}{_beside(one, other)}", f"  {_chance(chance, one):>9}  ")
    lines += wrap("Looked at when each of their steps begins and ends, with the way home of the nominal plan.", "  ")
    return lines


def _beside(one: Forecast, chance: float | None) -> str:
    if chance is None or one.together is one.alone:
        return ""
    return f" (each for itself: {_chance(chance, one)})"


def _crew(one: Forecast, words: Said) -> list[str]:
    apart, alone = one.together.apart, one.alone.apart
    if apart is None or alone is None:
        return []
    lines = ["", *heading(words.put("Crew outside: when each is through"))]
    lines += _when("", zip(map(label, one.crew), one.together.actors, one.alone.actors, strict=True), one)
    text = f"From the first to the last: {_long(apart.mean)} on average, {_long(apart.late)} or less in 9 of 10 runs"
    if one.together is not one.alone:
        text += f" (each for itself: {_long(alone.mean)}, {_long(alone.late)})"
    said = one.excursion.together
    if said is not None:
        kept = f"{_chance(one.together.together, one)}{_beside(one, one.alone.together)}"
        text += f". Together within {said.within.text}: {kept}"
    return [*lines, *wrap(f"{text}.", "  ")]


def _tasks(one: Forecast) -> list[str]:
    if not one.tasks:
        return []
    lines = ["", *heading("Tasks: when each is over")]
    names = [f"{task.name} ({task.rank})" if task.rank != "required" else task.name for task in one.tasks]
    return [*lines, *_when("task", zip(names, one.together.tasks, one.alone.tasks, strict=True), one)]


def _when(what: str, spreads: Iterable[tuple[str, Spread, Spread]], one: Forecast) -> list[str]:
    table = [[what, "average", "1 in 10 by", "half by", "9 in 10 by", "each for itself"]]
    for name, spread, alone in spreads:
        table.append([name, *(_at(x) for x in (spread.mean, spread.early, spread.half, spread.late, alone.late))])
    if one.together is one.alone:
        for cells in table:
            del cells[5]
    return columns(table, range(1, len(table[0])))


def _steps(one: Forecast) -> list[str]:
    ranked = sorted(range(len(one.stakes)), key=lambda step: (-one.stakes[step], step))
    ranked = [step for step in ranked if one.stakes[step] > 0][:MOST_STEPS]
    if not ranked:
        return []
    lines = ["", *heading("Worth rehearsing first")]
    lines += wrap(
        "How often the end hangs on the step, times the standard deviation of its length: the minutes that knowing it "
        "better is worth. A step that varies much but is never waited for is not here; what is over before a wait "
        "for the clock or the light does not count.",
        "  ",
    )
    lines.append(f"  {'at stake':>9}  {'hangs on it':>11}  {'likely':>7}  {'least to most':>15}")
    for index in ranked:
        step = one.flow.steps[index]
        least, likely, most = one.network.range_of(index)
        first = (
            f"  {_long(one.stakes[index]):>9}  {_often(one.together.critical[index], one):>11}  {_bare(likely):>7}  "
            f"{_bare(least) + ' to ' + _bare(most) + ' min':>15}  "
        )
        lines += row(f"{labels(step.cast)}: {step_text(step)}", first, source_place(step.entry.at))
    return lines


def _extras(one: Forecast, words: Said) -> list[str]:
    extras = one.extras
    if extras is None:
        return []
    goal = "the limit less the reserve" if one.excursion.reserve is not None else "the limit"
    lines = ["", *heading("Get-aheads: which of them fit")]
    lines += wrap(
        f"Each alone, beside all that is not one. Fits: the {words.excursion} keeps {goal} "
        f"({_at(extras.goal)} on its clock), which it does in {_chance(extras.without, one)} of the runs with none of "
        f"them. Begin by: with that start the chance is still {100 * SURE:.0f} %.",
        "  ",
    )
    table = [["get-ahead", "fits", "each for itself", "begins", "begin by"]]
    for extra in extras.each:
        table.append(
            [
                extra.task.name,
                _chance(extra.chance, one),
                _chance(extra.chance_alone, one),
                _at(extra.begins),
                _begin_by(extra),
            ]
        )
    if one.together is one.alone:
        for cells in table:
            del cells[2]
    lines += columns(table, range(1, len(table[0])))
    if extras.left_out:
        lines += wrap(f"{extras.left_out} more were not looked at one by one.", "  ")
    return lines


def _begin_by(extra: Extra) -> str:
    if extra.latest is None:
        return "never so sure"
    return "any time" if isinf(extra.latest) else clock(Fraction(extra.latest))


# --- figures ---------------------------------------------------------------------------------------------------------


def _at(seconds: float) -> str:
    return total(Fraction(round(seconds, 1)))


def _long(seconds: float) -> str:
    return f"{seconds / 60:.1f} min"


def _bare(seconds: float) -> str:
    text = f"{seconds / 60:.1f}"
    return text.removesuffix(".0")


def _often(share: float, one: Forecast) -> str:
    return "always" if share == 1 else _chance(share, one)


def _chance(share: float | None, one: Forecast, exact: bool = False) -> str:
    """Whole percents, finer near none and all; never "0 %" or "100 %" of what samples alone cannot rule out. exact: of
    a figure that is not counted in samples."""
    if share is None:
        return "-"
    if not one.uncertain:
        return "yes" if share == 1 else "no"
    if one.samples < 100 and not exact:
        return f"{round(share * one.samples)} of {one.samples}"
    least = 1e-4 if exact else 1 / one.samples
    if share < least:
        return f"< {100 * least:.2g} %"
    if share > 1 - least:
        return f"> {100 - 100 * least:.6g} %"
    rare = min(share, 1 - share)
    return f"{100 * share:.{0 if rare >= 0.01 else 1 if rare >= 0.001 else 2}f} %"


# --- data ------------------------------------------------------------------------------------------------------------


def as_json(checked: Any, found: Found, samples: int, seed: int) -> str:
    """Times are seconds from the excursion's start, chances shares of the samples. ``as_written`` has the common cause
    that the plan writes, ``each_for_itself`` has none."""
    frame = frame_of(checked, unchecked=False)
    data = {
        "schema": SCHEMA,
        "campaign": checked.world.name,
        "identity": frame.identity,
        "findings": frame.counts,
        "safety": list(frame.safety),
        "samples": samples,
        "seed": seed,
        "excursions": [_data(flow.excursion, one) for flow, one in found],
    }
    return json.dumps(data, indent=1, ensure_ascii=False) + "\n"


def _data(excursion: Excursion, one: Forecast | None) -> dict[str, Any]:
    head = {"name": excursion.name, "title": excursion.title, "source": source_place(excursion.decl)}
    if one is None:
        return {**head, "worked_out": False}
    classic = one.pert
    limit, reserve = excursion.limit, excursion.reserve
    return {
        **head,
        "worked_out": True,
        "uncertain": one.uncertain,
        "not_decided": [
            {"what": what, "step": one.names[step], "source": source_place(one.flow.steps[step].entry.at)}
            for what, steps in (("no-duration", one.blank), ("never-in-its-light", one.unlit))
            for step in steps
        ],
        "slow_day": {"run": one.common.run, "each": one.common.each},
        "limit": None if limit is None else plain(limit.value),
        "reserve": None if reserve is None else plain(reserve.value),
        "as_written": _answer(one, one.together),
        "each_for_itself": _answer(one, one.alone),
        "classic_pert": {
            "mean": round(classic.mean, 3),
            "deviation": round(classic.spread, 3),
            "path": [one.names[step] for step in classic.path],
            "inside_limit": None if limit is None else round(classic.chance(plain(limit.value)), 6),
        },
        "steps": [
            {
                "step": name,
                "source": source_place(one.flow.steps[index].entry.at),
                "range": None if one.network.ranges[index] is None else list(one.network.range_of(index)),
                "critical": one.together.critical[index],
                "critical_each_for_itself": one.alone.critical[index],
                "stake": round(one.stakes[index], 3),
            }
            for index, name in enumerate(one.names)
        ],
        "get_aheads": None if one.extras is None else _extras_data(one.extras),
    }


def _answer(one: Forecast, answer: Answer) -> dict[str, Any]:
    return {
        "end": _spread(answer.end),
        "on_clock": _spread(answer.on_clock),
        "inside_limit": answer.inside,
        "inside_limit_less_reserve": answer.inside_reserve,
        "short_of_the_way_home": answer.home,
        "short_of_the_way_home_by_actor": {
            actor.name: chance for actor, chance in zip(one.outside, answer.homes, strict=True)
        },
        "actors": {actor.name: _spread(spread) for actor, spread in zip(one.crew, answer.actors, strict=True)},
        "apart": None if answer.apart is None else _spread(answer.apart),
        "together": answer.together,
        "tasks": {task.name: _spread(spread) for task, spread in zip(one.tasks, answer.tasks, strict=True)},
        "bounds": [
            {"bound": bound_text(bound), "step": one.names[step], "source": source_place(bound.at), "kept": kept}
            for (bound, step), kept in zip(one.bounds, answer.bounds, strict=True)
        ],
    }


def _spread(spread: Spread) -> dict[str, float]:
    names = ("mean", "deviation", "p10", "p50", "p90")
    return {name: round(value, 3) for name, value in zip(names, spread, strict=True)}


def _extras_data(extras: Extras) -> dict[str, Any]:
    return {
        "goal": extras.goal,
        "sure": SURE,
        "inside_without": extras.without,
        "inside_without_each_for_itself": extras.without_alone,
        "each": [
            {
                "task": extra.task.name,
                "fits": extra.chance,
                "fits_each_for_itself": extra.chance_alone,
                "begins": round(extra.begins, 3),
                "begin_by": None if extra.latest in (None, inf) else round(extra.latest or 0.0, 3),
                "any_time": extra.latest == inf,
            }
            for extra in extras.each
        ],
        "not_looked_at": extras.left_out,
    }
