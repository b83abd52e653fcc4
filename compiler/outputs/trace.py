"""Where one thing is and who has it, step by step over the whole campaign."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.suggest import did_you_mean
from jackstay.flow.records import Flow, Step
from jackstay.model.records import Thing, World
from jackstay.outputs.clock import clock
from jackstay.outputs.frame import frame_of
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.paper import row, wrap
from jackstay.outputs.situation import bearers, contents, describe
from jackstay.outputs.views import NOT_FOLLOWED, NOT_WORKED_OUT, View, views_of
from jackstay.outputs.wording import label, labels, source_place, step_text, value_text
from jackstay.timing.records import Times

INDENT = " " * 10


class UnknownThing(LookupError):
    """No thing of that name; the message says so, and names the nearest."""


class NotFollowed(LookupError):
    """Nothing is known about any thing's way."""


def trace_text(checked: Any, thing_name: str) -> str:
    """The thing's history as a page of text. checked: as for `build`. Raises `UnknownThing`, `NotFollowed`."""
    world: World = checked.world
    thing = named(world, thing_name)
    flow = followed(checked)
    frame = frame_of(checked, unchecked=any(one.severity == "error" for one in checked.diagnostics))
    lines = frame.head(f"Where it is: {label(thing)} ({thing.kind.name}, {source_place(thing.decl)})")
    lines += wrap(
        "One row for each step that changes where it is, on what, who has it"
        + ("" if thing.sort == "actor" else ", what is in it")
        + ", or how it is set, at the clock at which the step ends, as planned. Under the step: what it leaves."
    )
    views = views_of(flow)
    changing = {change.var for view in views for step in view.flow.steps for change in step.changes}
    for view in views:
        lines += ["", *excursion_head(view, len(views)), ""]
        lines += _excursion(world, view, thing, changing)
    return "\n".join([*lines, *frame.foot()]) + "\n"


def named(world: World, name: str) -> Thing:
    """Raises `UnknownThing`."""
    thing = next((one for one in world.things if one.name == name), None)
    if thing is None:
        hint = did_you_mean(name, [one.name for one in world.things])
        raise UnknownThing(f"there is no thing named {name} in this plan" + (f"; {hint}" if hint else "."))
    return thing


def followed(checked: Any) -> Flow:
    """Raises `NotFollowed`."""
    if checked.flow is None:
        raise NotFollowed(NOT_FOLLOWED)
    flow: Flow = checked.flow
    return flow


def _excursion(world: World, view: View, thing: Thing, changing: set[int]) -> list[str]:
    if view.times is None:
        return [NOT_WORKED_OUT]
    now = _facts(world, view.flow.start, thing, changing)
    lines = [*wrap("at the start", INDENT), *_leaves(now, ())]
    rows = 0
    state = list(view.flow.start)
    for step in _by_the_clock(view, view.times):
        for change in step.changes:
            state[change.var] = change.after
        then = _facts(world, state, thing, changing)
        if then == now:
            continue
        i = step.index
        first = f"  {clock(view.times.end[i]):>5}{'+' if view.times.end_open[i] else ' '}  "
        mark = "> " if step.inserted else ""
        lines += row(f"{mark}{labels(step.cast)}: {step_text(step)}", first, source_place(step.entry.at))
        lines += _leaves(then, now)
        now = then
        rows += 1
    return lines if rows else [*lines, *wrap("no step changes it", INDENT)]


def _by_the_clock(view: View, times: Times) -> list[Step]:
    """The steps that change something, as they end: the text's order is no order between two actors, and what is in a
    place at some time is what was brought there by then."""
    return sorted(
        (step for step in view.flow.steps if step.changes), key=lambda step: (times.end[step.index], step.index)
    )


def _leaves(facts: tuple[str, ...], before: tuple[str, ...]) -> list[str]:
    """The facts that are new; those that stand as they stood are not told again."""
    return [line for fact in facts if fact not in before for line in wrap(fact, f"{INDENT}  = ")]


def _facts(world: World, state: list[Any], thing: Thing, changing: set[int]) -> tuple[str, ...]:
    facts: list[str] = []
    if thing.sort != "location":
        facts.append(describe(state, thing))
        if thing.sort == "item":
            who = bearers(state, thing)
            facts.append(f"{labels(who) or 'nobody'} {'have' if len(who) > 1 else 'has'} it")
    inside = contents(world, state, thing)
    if thing.sort != "actor" and (inside or thing.kind.holds):
        facts.append(
            "holds "
            + (
                ", ".join(
                    label(one) + (f" (by {held.manner})" if held is not None and held.manner else "")
                    for one, held in inside
                )
                or "nothing"
            )
        )
    for prop, var in thing.prop_vars.items():
        if var not in changing:
            continue
        facts.append(f"{prop} is {value_text(state[var], thing.kind.properties.get(prop), thing)}")
    return tuple(facts)
