"""What stands on a crew timeline, each with its position along the axis: bars, waits, flags, posts and ties.

A *bar* is a step in the lane of one of its cast. A *flag* is a call, or a fallback that may be called. A *post* is a
place that somebody comes to. A *tie* joins the lanes of a step, or goes along the critical chain."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from jackstay.flow.records import Step
from jackstay.model.records import Mark, Task, Thing
from jackstay.outputs.clock import about, clock, minutes
from jackstay.outputs.crewline_axis import Axis
from jackstay.outputs.order_graph import company, handed_over
from jackstay.outputs.views import View, is_anchor, is_idle, main_step, others
from jackstay.outputs.wording import bound_text, labels, spoken, step_text, who_does
from jackstay.timing.formulas import location_in
from jackstay.timing.records import Delay, Times
from jackstay.timing.schedule import mark_between


@dataclass(slots=True)
class Bar:
    """sort: written, inserted, hole. stretch: from where on it is only held open. slack: drawn behind it if it has any
    that the actor's next step does not have too."""

    step: Step
    actor: Thing
    left: float
    right: float
    sort: str
    words: str
    label: str
    critical: bool
    rank: str
    blank: bool
    joint: bool
    stretch: float | None = None
    slack: Fraction = Fraction(0)
    slack_right: float = 0.0


@dataclass(slots=True)
class Wait:
    """words: what is waited for; the shorter ones may stand where the first do not fit."""

    step: Step
    left: float
    right: float
    words: tuple[str, ...]
    length: str
    since: Fraction


@dataclass(slots=True)
class Flag:
    """sort: call, card (a fallback that may be called). sign: the outcome and the fallback, or the call."""

    step: Step
    at: float
    sort: str
    words: str
    when: Fraction


@dataclass(slots=True)
class Post:
    at: float
    place: Thing
    words: tuple[str, ...]


@dataclass(slots=True)
class Tie:
    """sort: joint, meeting, handover (from the first lane to the second), runs, beside, chain."""

    sort: str
    at: float
    ends: tuple[Thing, Thing]
    step: Step
    label: str


@dataclass(slots=True)
class Lane:
    actor: Thing
    bars: list[Bar] = field(default_factory=list)
    waits: list[Wait] = field(default_factory=list)
    flags: list[Flag] = field(default_factory=list)
    posts: list[Post] = field(default_factory=list)
    end: float = 0.0


@dataclass(slots=True)
class Parts:
    lanes: list[Lane]
    ties: list[Tie]
    tasks: list[tuple[Task, float, float]]


def lane_order(view: View) -> list[Thing]:
    """As the crew is written, but a machine stands directly above whoever runs it."""
    actors = list(view.own)
    runners = {actor.runner for actor in actors if actor.runner in view.own}
    machines = [actor for actor in actors if actor.runner in view.own]
    found: list[Thing] = []
    for actor in actors:
        if actor in machines and actor not in runners:
            continue
        found += [machine for machine in machines if machine.runner is actor and machine not in found]
        if actor not in found:
            found.append(actor)
    return found + [actor for actor in actors if actor not in found]


def parts_of(view: View, times: Times, axis: Axis, groups: Sequence[Sequence[Thing]]) -> Parts:
    """groups: who share a sheet; a step that somebody on another sheet takes part in tells who."""
    sheet = {actor: number for number, group in enumerate(groups) for actor in group}
    lanes = {actor: Lane(actor) for actor in lane_order(view)}
    critical = set(times.critical)
    held = {stretch.step: stretch.by for stretch in times.stretches}
    for actor, lane in lanes.items():
        steps = [step for step in view.own[actor] if not is_idle(step)]
        for number, step in enumerate(steps):
            bar = _bar(view, times, axis, actor, step, critical)
            if len({sheet.get(one) for one in step.cast}) > 1:
                bar.words = who_does(step.cast, actor, "with {}: ") + bar.words
            if step.index in held:
                bar.stretch = axis.left(times.end[step.index] - held[step.index])
            following = steps[number + 1].index if number + 1 < len(steps) else None
            slack = times.slack[step.index]
            if slack and (following is None or times.slack[following] < slack):
                bar.slack = slack
                bar.slack_right = max(axis.left(times.latest_end[step.index]), bar.right)
            lane.bars.append(bar)
        last = times.actor_end.get(actor)
        lane.end = axis.right(last) if last is not None else 0.0
    for delay in times.delays:
        if delay.actor in lanes:
            step = view.flow.steps[delay.step]
            length = about(delay.until - delay.since, times.start_open[delay.step])
            right = max(axis.span(step)[0], axis.right(delay.since))
            words = tuple(wait_words(view, delay))
            lanes[delay.actor].waits.append(Wait(step, axis.right(delay.since), right, words, length, delay.since))
    _flags(view, times, axis, lanes)
    for lane in lanes.values():
        lane.posts = list(_posts(view, times, axis, lane.actor))
    ties = [*_ties(view, axis, lanes), *_chain(view, times, axis, lanes)]
    return Parts(list(lanes.values()), ties, list(_tasks(view, axis)))


def _bar(view: View, times: Times, axis: Axis, actor: Thing, step: Step, critical: set[int]) -> Bar:
    i = step.index
    left, right = axis.span(step)
    words = step_text(step)
    if step.entry.bounds and is_anchor(view, actor, step):
        words += f" ({', '.join(bound_text(bound) for bound in step.entry.bounds)})"
    sort = "hole" if step.entry.hole else "inserted" if step.inserted else "written"
    told = [
        f"{labels(step.cast)}: {words}",
        f"{clock(times.start[i], times.start_open[i])} to {clock(times.end[i], times.end_open[i])}",
        minutes(times.durations[i]),
        f"slack {minutes(times.slack[i])}" if times.slack[i] else "no slack",
    ]
    if i in critical:
        told.append("on the critical chain")
    if step.entry.task.rank != "required":
        told.append(step.entry.task.rank)
    if step.inserted:
        told.append("inserted")
    doers = [one for one in step.cast if one in step.entry.block.doers]
    joint = not step.inserted and len(doers) > 1 and actor in doers
    blank = times.durations[i] is None
    return Bar(
        step, actor, left, right, sort, words, ", ".join(told), i in critical, step.entry.task.rank, blank, joint
    )


def wait_words(view: View, delay: Delay) -> Iterator[str]:
    """The full words; then shorter ones that still name what is waited for, where there are any."""
    if delay.mark is not None:
        yield f"waits for {speaker(delay.mark)}: {spoken(delay.mark)}"
        return
    step = view.flow.steps[delay.step]
    if delay.why == "light":
        bounds = (*step.entry.bounds, *step.entry.task.bounds)
        yield f"waits for {next((bound.word for bound in bounds if bound.sort == 'light'), 'the light')}"
    elif delay.cause is None:
        yield f"waits: not before {clock(delay.until)}"
    else:
        cause = view.flow.steps[delay.cause]
        who = titles(others(cause.cast, delay.actor) or list(cause.cast))
        if delay.why == "within":
            yield f"holds back, not to be too long before {who}: {step_text(cause)}"
            yield f"holds back for {who}"
        else:
            if not is_idle(cause):
                yield f"waits for {who}: {step_text(cause)}"
            yield f"waits for {who}"


def titles(things: Sequence[Thing]) -> str:
    """As `labels`, without names: a picture has no room for them."""
    words = [thing.title for thing in things]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def speaker(mark: Mark) -> str:
    """As `caller`, without names."""
    if mark.entry is None or not mark.entry.cast:
        return "nobody"
    doer = mark.entry.cast[0]
    return doer.title if doer.runner is None else f"{doer.runner.title} for {doer.title}"


def _flags(view: View, times: Times, axis: Axis, lanes: dict[Thing, Lane]) -> None:
    for index in sorted(view.calls):
        mark, step = view.calls[index], view.flow.steps[index]
        doer = mark.entry.cast[0] if mark.entry is not None and mark.entry.cast else None
        speaker = doer.runner if doer is not None and doer.runner in lanes else doer
        if speaker in lanes:
            lanes[speaker].flags.append(Flag(step, axis.after(step), "call", spoken(mark), times.end[index]))
    for steps in view.of_entry.values():
        entry, step = steps[0].entry, main_step(steps)
        for answer in entry.answers:
            if answer.fallback is not None and step.cast and step.cast[0] in lanes:
                words = f"fallback if {answer.outcome}: {answer.fallback.title}"
                flag = Flag(step, axis.after(step), "card", words, times.end[step.index])
                lanes[step.cast[0]].flags.append(flag)
    for lane in lanes.values():
        lane.flags.sort(key=lambda flag: (flag.at, flag.sort, flag.step.index))


def _posts(view: View, times: Times, axis: Axis, actor: Thing) -> Iterator[Post]:
    state = list(view.flow.start)
    before: tuple[Thing | None, Thing | None] = (None, None)
    order = sorted(view.flow.steps, key=lambda step: (times.end[step.index], step.index))
    for step in (None, *order):
        if step is not None:
            for change in step.changes:
                state[change.var] = change.after
        seat = state[actor.place_var] if actor.place_var >= 0 else None
        place = location_in(state, actor)
        if place is None or (seat, place) == before:
            continue
        titles = [place.title, place.name]
        if isinstance(seat, Thing) and seat is not place:
            inner = [f"{title}, in {seat.title}" for title in titles]
            titles = [*inner, f"in {seat.title}"] if place is not before[1] else [f"in {seat.title}"]
        elif place is before[1]:
            titles = []
        before = (seat if isinstance(seat, Thing) else None, place)
        if titles:
            yield Post(axis.after(step) if step is not None else 0.0, place, tuple(titles))


def _ties(view: View, axis: Axis, lanes: dict[Thing, Lane]) -> Iterator[Tie]:
    order = {actor: number for number, actor in enumerate(lanes)}
    for step in view.flow.steps:
        cast = [actor for actor in step.cast if actor in order]
        if is_idle(step) or len(cast) < 2:
            continue
        left, right = axis.span(step)
        middle = (left + right) / 2
        text = f"{labels(step.cast)}: {step_text(step)}"
        done: set[Thing] = set()
        for giver, taker, things in _given(view, step, handed_over(view.world, step)):
            if giver in order and taker in order:
                handed = f"{labels(things)} from {labels([giver])} to {labels([taker])}"
                yield Tie("handover", middle, (giver, taker), step, handed)
                done |= {giver, taker}
        doers = [actor for actor in cast if actor in step.entry.block.doers]
        partners = doers if len(doers) > 1 else [one for one in (cast[0], *company(step)) if one in order]
        if len(partners) > 1 and not done >= set(partners):
            rows = sorted(partners, key=lambda actor: order[actor])
            for one, other in pairwise(rows):
                yield Tie("joint" if len(doers) > 1 else "meeting", middle, (one, other), step, text)
        for actor in cast:
            if actor.runner in cast and actor.runner in order:
                assert actor.runner is not None
                at = left + min((right - left) / 4, 6)
                yield Tie("runs", at, (actor, actor.runner), step, f"{labels([actor.runner])} runs {labels([actor])}")
    for inner, outer in view.flow.companions:
        step, other_step = view.flow.steps[inner], view.flow.steps[outer]
        ends = _nearest(order, step.cast, other_step.cast)
        if ends is not None and not is_idle(step):
            mark = mark_between(view.flow, step, outer)
            text = f" up to {spoken(mark)}" if mark is not None else ""
            yield Tie("beside", axis.span(step)[0], ends, step, f"{labels(step.cast)}: runs beside{text}")


def _given(view: View, step: Step, things: list[Thing]) -> list[tuple[Thing, Thing, list[Thing]]]:
    """Giver and taker, with what goes over."""
    found: dict[tuple[Thing, Thing], list[Thing]] = {}
    for change in step.changes:
        var = view.world.variables[change.var]
        if var.sort == "held" and var.thing in things:
            before = [held.holder for held in change.before or () if held.holder in step.cast]
            after = [held.holder for held in change.after or () if held.holder in step.cast]
            giver = next(one for one in before if one not in after)
            taker = next(one for one in after if one not in before)
            found.setdefault((giver, taker), []).append(var.thing)
    return [(giver, taker, given) for (giver, taker), given in found.items()]


def _nearest(order: dict[Thing, int], ones: tuple[Thing, ...], other: tuple[Thing, ...]) -> tuple[Thing, Thing] | None:
    """The two lanes of two casts that are nearest to each other; None where they share one, or have none."""
    pairs = [(abs(order[a] - order[b]), order[a], a, b) for a in ones if a in order for b in other if b in order]
    if not pairs:
        return None
    _, _, a, b = min(pairs, key=lambda pair: pair[:2])
    return None if a is b else (a, b)


def _chain(view: View, times: Times, axis: Axis, lanes: dict[Thing, Lane]) -> Iterator[Tie]:
    """Where the critical chain goes on in somebody else's lane."""
    order = {actor: number for number, actor in enumerate(lanes)}
    steps = [view.flow.steps[i] for i in times.critical if not is_idle(view.flow.steps[i])]
    for one, other in pairwise(steps):
        ends = _nearest(order, one.cast, other.cast)
        if ends is not None:
            text = f"critical chain: {labels(one.cast)}: {step_text(one)}, then {labels(other.cast)}"
            yield Tie("chain", axis.span(other)[0], ends, other, text)


def _tasks(view: View, axis: Axis) -> Iterator[tuple[Task, float, float]]:
    """Each task from its first step to its last."""
    found: dict[Task, tuple[float, float]] = {}
    for step in view.flow.steps:
        if not is_idle(step):
            left, right = axis.span(step)
            task = step.entry.task
            known = found.get(task, (left, right))
            found[task] = (min(known[0], left), max(known[1], right))
    for task in sorted(found, key=lambda one: (found[one][0], view.excursion.tasks.index(one))):
        yield task, *found[task]
