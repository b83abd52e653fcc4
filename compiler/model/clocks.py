"""An excursion's own lines on time: its clock, its light, its date, and how far apart its crew may end."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import TYPE_CHECKING

from jackstay.model.blocks import Pending
from jackstay.model.formulas import constant
from jackstay.model.records import Begins, Light, Measure, SlowDay, Task, Together
from jackstay.model.terms import Terms
from jackstay.model.units import dimension_text
from jackstay.source.spans import NOWHERE
from jackstay.syntax import tree

if TYPE_CHECKING:
    from jackstay.model.choreography import ExcursionBuilder


def read_time_line(owner: "ExcursionBuilder", node: tree.Node, terms: Terms) -> None:
    """Read one of these lines; any other is left alone."""
    excursion, notebook = owner.excursion, owner.notebook
    if isinstance(node, tree.Clock):
        excursion.clock = node.origin
        excursion.clock_at = terms.span()
        excursion.limit = owner.time(node.limit, terms) if node.limit else None
        excursion.reserve = owner.time(node.reserve, terms) if node.reserve else None
        for side, name in (("starts", node.starts), ("ends", node.ends)):
            if name is not None:
                owner.clock_marks[side] = (name, terms.span(name.at))
        limit, reserve = excursion.limit, excursion.reserve
        if limit is not None and node.limit and limit.value <= 0:
            notebook.add("bad-time", terms.span(node.limit.at), what="limit", text=limit.text, other="")
            excursion.limit = None
        elif reserve is not None and node.reserve and (reserve.value < 0 or (limit and reserve.value >= limit.value)):
            other = limit.text if limit else ""
            notebook.add("bad-time", terms.span(node.reserve.at), what="reserve", text=reserve.text, other=other)
            excursion.reserve = None
    elif isinstance(node, tree.Light):
        dark, every, first = (owner.time(f, terms) for f in (node.dark, node.every, node.first))
        if dark is not None and every is not None and first is not None:
            _light(owner, node.dark, (dark, every, first), terms)
    elif isinstance(node, tree.Orbit):
        _orbit(owner, node, terms)
    elif isinstance(node, tree.SlowDay):
        run, each = Fraction(node.run.text), Fraction(node.each.text if node.each else 0)
        if run < 0 or each < 0 or run + each >= 1:
            notebook.add(
                "bad-time",
                terms.span(node.run.at),
                what="slow day",
                text=node.run.text,
                other=node.each.text if node.each else "0",
            )
        else:
            excursion.slow_day = SlowDay(run, each, terms.span())
    elif isinstance(node, tree.Together):
        within = owner.time(node.within, terms)
        if within is not None and within.value < 0:
            notebook.add("bad-time", terms.span(node.within.at), what="bound", text=within.text, other="")
        elif within is not None:
            excursion.together = Together(within, terms.span())
    elif isinstance(node, tree.Begins):
        _begins(owner, node, terms)


def _light(owner: "ExcursionBuilder", at: tree.Formula, parts: tuple[Measure, Measure, Measure], terms: Terms) -> None:
    dark, every, _ = parts
    if every.value <= 0 or not 0 <= dark.value <= every.value:
        owner.notebook.add("bad-time", terms.span(at.at), what="dark", text=dark.text, other=every.text)
        return
    owner.excursion.light = Light(*parts, terms.span())


def _orbit(owner: "ExcursionBuilder", node: tree.Orbit, terms: Terms) -> None:
    notebook, first = owner.notebook, owner.time(node.first, terms)
    height, beta = constant(node.height, terms), constant(node.beta, terms)
    body = owner.world.bodies.get(node.body.text)
    if body is None:
        known = [(b.name, "a body", b.decl) for b in owner.world.bodies.values()]
        notebook.add(
            "unknown-name",
            terms.span(node.body.at),
            name=node.body.text,
            wanted="a body to go round",
            candidates=known,
            places=[],
            elsewhere=[],
        )
    if body is None or first is None or height is None or beta is None:
        return
    if height.dimension != body.radius.dimension:
        notebook.add(
            "wrong-dimension",
            terms.span(node.height.at),
            found=dimension_text(height.dimension),
            wanted=dimension_text(body.radius.dimension),
            what="the height of an orbit",
        )
        return
    from jackstay.model.orbit import orbit  # few plans say their light by an orbit

    if len(beta.dimension) != 1 or beta.dimension in (height.dimension, first.dimension):
        notebook.add(
            "wrong-dimension",
            terms.span(node.beta.at),
            found=dimension_text(beta.dimension),
            wanted="an angle",
            what="the beta angle of an orbit",
        )
        return
    try:
        found = orbit(height.value, beta.value, body.radius.value, body.pull.value)
    except ValueError as words:
        notebook.add("bad-time", terms.span(node.height.at), what="orbit", text=height.text, other=str(words))
        return
    time = first.dimension
    dark, every = found.dark, found.period
    parts = (Measure(dark, time, _minutes(dark)), Measure(every, time, _minutes(every)), first)
    owner.excursion.light = Light(*parts, terms.span())


def _minutes(seconds: Fraction) -> str:
    return f"{float(seconds / 60):.1f} min"


def _begins(owner: "ExcursionBuilder", node: tree.Begins, terms: Terms) -> None:
    time = owner.time(node.time, terms)
    try:
        date.fromisoformat(node.date.text)
    except ValueError:
        owner.notebook.add("bad-date", terms.span(node.date.at), text=node.date.text, of="excursion")
        return
    if time is None:
        return
    if not 0 <= time.value < 86_400:
        owner.notebook.add("bad-time", terms.span(node.time.at), what="hour", text=time.text, other="")
        return
    owner.excursion.begins = Begins(node.date.text, time.value, terms.span())


def finish_clock(owner: "ExcursionBuilder") -> None:
    """The calls that start and stop the clock, once all calls are known."""
    for side, (name, at) in owner.clock_marks.items():
        task = Task("", "", "required", owner.excursion, NOWHERE)
        mark = owner.mark(Pending(None, "on", name, at, {}, task))
        if mark is not None and (mark.task.rank != "required" or mark.task not in owner.excursion.tasks):
            why = f"{mark.task.name} is {mark.task.rank}: it may be dropped, and then the clock has no such call"
            if mark.task not in owner.excursion.tasks:
                why = f"only the fallback {mark.task.name} makes it"
            owner.notebook.add("bad-time", at, what="clock-call", text=name.text, other=why)
            continue
        if side == "starts":
            owner.excursion.clock_starts = mark
        else:
            owner.excursion.clock_ends = mark
