"""From a checked plan to its meaning: the one edge at which this stage meets model, flow and times."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from jackstay.comparing.meaning import ExcursionMeaning, Meaning, Outcome, TaskMeaning
from jackstay.comparing.read_declared import texts_of, things_of
from jackstay.comparing.read_outcome import outcomes
from jackstay.comparing.read_rest import rows_of
from jackstay.comparing.read_units import Reader, bound_words
from jackstay.flow.clocks import happens_before
from jackstay.flow.records import ExcursionFlow
from jackstay.model.records import Excursion, Fallback, Task
from jackstay.outputs.views import View, views_of

Order = Callable[[int, int], bool]


class Side:
    """One side of a comparison. checked: anything with ``world``, ``flow``, ``diagnostics`` and ``sources``.
    views: of the excursions that were followed; None where nothing was."""

    def __init__(self, checked: Any) -> None:
        self.checked = checked
        self.views: list[View] | None = views_of(checked.flow) if checked.flow is not None else None
        self.meaning = _meaning(checked, self.views)
        self.rows = rows_of(checked.world, checked.sources)

    def order(self, excursion: str) -> Order | None:
        """Whether the first entry (by index) has surely ended when the second starts."""
        view = next((one for one in self.views or () if one.excursion.name == excursion), None)
        if view is None or view.times is None:
            return None
        return _order(view.flow)


def _order(flow: ExcursionFlow) -> Order:
    def before(first: int, second: int) -> bool:
        ends, starts = flow.by_entry.get(first), flow.by_entry.get(second)
        return bool(ends and starts) and all(happens_before(s, t) for s in ends or () for t in starts or ())

    return before


def _meaning(checked: Any, views: list[View] | None) -> Meaning:
    world = checked.world
    followed: dict[str, Outcome | None] = {}
    if views is not None:
        for view, one in zip(views, outcomes(world, views), strict=True):
            previous = view.excursion.previous
            known = previous is None or view.excursion.starts != "ends" or followed.get(previous.name) is not None
            followed[view.excursion.name] = one if known else None
    excursions = [_excursion(one, checked, followed.get(one.name)) for one in world.excursions]
    return Meaning(
        world.title,
        things_of(world),
        texts_of(world, checked.sources),
        excursions,
        {thing.name: thing.title for thing in world.things if thing.sort == "actor"},
        {thing.name: thing.title for thing in world.things},
    )


def _excursion(one: Excursion, checked: Any, outcome: Outcome | None) -> ExcursionMeaning:
    reader = Reader(checked.sources)
    tasks = [_task(task, reader) for task in one.tasks]
    tasks += [_fallback(fallback, reader) for fallback in one.fallbacks]
    return ExcursionMeaning(one.name, one.title, dict(_settings(one)), tuple(tasks), outcome)


def _settings(one: Excursion) -> Iterator[tuple[tuple[str, str], str]]:
    yield ("title", ""), one.title
    for member in one.crew:
        yield ("crew", member.actor.name), f"as {member.role}" if member.role else "in the crew"
    starts = {"ends": "as {} ends", "promise": "from the promise of {}"}.get(one.starts, "as written")
    yield ("starts", ""), starts.format(one.previous.name if one.previous is not None else "")
    for what, mark in (("clock starts", one.clock_starts), ("clock ends", one.clock_ends)):
        if mark is not None:
            yield (what, ""), f"on {mark.task.name}.{mark.name}"
    if one.clock is not None:
        yield ("clock", ""), f"from {one.clock}"
    for what, measure in (("limit", one.limit), ("reserve", one.reserve)):
        if measure is not None:
            yield (what, ""), measure.text
    if one.light is not None:
        yield (
            ("light", ""),
            f"dark {one.light.dark.text} of every {one.light.every.text}, first at {one.light.first.text}",
        )
    if one.together is not None:
        yield ("finish together", ""), f"within {one.together.within.text}"
    if one.slow_day is not None:
        yield ("slow day", ""), f"{float(one.slow_day.run):g}, each {float(one.slow_day.each):g}"
    if one.begins is not None:
        hours, rest = divmod(int(one.begins.time // 60), 60)
        yield ("begins", ""), f"{one.begins.date} at {hours}:{rest:02d}"
    for what, things in (("left outside", one.left_outside), ("comes inside", one.comes_inside)):
        for left in things:
            yield (what, left.thing.name), f"until {left.until}" if left.until else "said"
    for state in one.left_so:
        yield ("left so", state.test.text), f"until {state.until}" if state.until else "said"


def _task(task: Task, reader: Reader) -> TaskMeaning:
    lines = {
        "rank": (task.rank,),
        "title": (task.title,),
        "after": tuple(other.name for other in task.after),
        "with": tuple(other.name for other in task.along_with),
        "only if": tuple(test.text for test in task.guard.tests) if task.guard is not None else (),
        "done when": tuple(test.text for test in task.done_when),
        "bounds": tuple(bound_words(bound) for bound in task.bounds),
    }
    return TaskMeaning(task.name, False, task.was, _said(lines), reader.units(task))


def _fallback(one: Fallback, reader: Reader) -> TaskMeaning:
    lines = {
        "title": (one.title,),
        "from": (one.mark.name,) if one.mark is not None else (),
        "instead of": tuple(task.name for task in one.instead),
        "then": tuple(task.name for task in one.then),
        "done when": tuple(test.text for test in one.body.done_when),
    }
    return TaskMeaning(one.name, True, None, _said(lines), reader.units(one.body, nominal=False))


def _said(lines: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
    return {what: said for what, said in lines.items() if said}
