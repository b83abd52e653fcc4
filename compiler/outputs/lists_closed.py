"""Whether a pack list is closed: the excursion is checked once more from a start that has, of all that lies inside,
only what is on the list. What the plan uses and the list forgets is then missing, and the check says so."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.again import problems_without
from jackstay.model.records import Thing, World
from jackstay.outputs.situation import is_inside, upward
from jackstay.outputs.views import View
from jackstay.outputs.wording import source_place


class Closed(NamedTuple):
    """gone: what is inside and on no list. missing: the problems that only its absence makes."""

    gone: tuple[Thing, ...]
    missing: tuple[Problem, ...]

    @property
    def words(self) -> str:
        if not self.missing:
            if not self.gone:
                return "Closed: there is nothing else inside, so the plan's own check was one of these lists."
            return (
                "Closed: checked again, fallbacks too, with exactly what these lists have of what is inside "
                f"(without {len(self.gone)} other); nothing is missing."
            )
        told = "; ".join(f"{one.rule} at {source_place(one.at)}" for one in self.missing)
        return f"NOT CLOSED: with exactly these lists the check finds {told}."


def closed(world: World, view: View, listed: Iterable[Thing]) -> Closed:
    """listed: the items on the pack list and those that are used inside."""
    kept = set(listed)
    start = view.flow.start
    gone = tuple(
        thing for thing in world.things if thing.sort == "item" and thing not in kept and is_inside(start, thing)
    )
    if not gone:
        return Closed((), ())
    known = {(problem.rule, problem.at) for problem in view.flow.problems}
    new = [one for one in problems_without(world, view.flow, gone) if (one.rule, one.at) not in known]
    return Closed(gone, tuple(new))


def used(world: World, view: View) -> dict[Thing, None]:
    """Whatever a step or a fallback names, reads or changes, with what that hangs on at the start."""
    found: dict[Thing, None] = {}
    for step in view.flow.steps:
        found.update((world.variables[var].thing, None) for var in step.reads)
        found.update((world.variables[change.var].thing, None) for change in step.changes)
        found.update((one, None) for one in step.binding if isinstance(one, Thing))
    for fallback in view.excursion.fallbacks:
        for entry in fallback.body.entries:
            found.update((one, None) for one in entry.binding if isinstance(one, Thing))
    for thing in list(found):
        found.update((up, None) for up in upward(view.flow.start, thing))
    return found


def used_inside(world: World, view: View, out: Iterable[Thing]) -> list[Thing]:
    """Items that are inside at the start, are used, and do not go out."""
    leaving, needed = set(out), used(world, view)
    return [
        thing
        for thing in world.things
        if thing in needed and thing.sort == "item" and thing not in leaving and is_inside(view.flow.start, thing)
    ]
