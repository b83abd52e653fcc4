"""The way of every thing through hands and places, as data: one stay for each holder or place, in order.

A *custody change* is a step that changes what an item hangs on, or an end of a line. Where the compiler has inserted
both a change and the one that undoes it for one and the same step (a tool drawn for it and put back), the two are one
stay, there and back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import Holding, Thing, World
from jackstay.outputs.situation import bearers, holdings, is_inside, line_ends, states
from jackstay.outputs.views import View
from jackstay.outputs.words import said
from jackstay.timing.formulas import location_in

Hangs = tuple[tuple[Holding, ...], Thing | None, Thing | None]  # attachments, a line's two ends


@dataclass(slots=True)
class Stay:
    """A thing on one holder (or on several at once) from a step on, within one excursion.

    step: None where it is so as the excursion begins. kept: it hangs there as the excursion before has left it.
    back: the step that undoes it, for a stay that is there and back. places: where that is, in order, as far as it
    moves meanwhile. who: who has it, by each attachment. inside: whether that is inside at the end of the stay."""

    thing: Thing
    view: View
    step: Step | None
    hangs: Hangs
    kept: bool = False
    back: Step | None = None
    places: list[Thing] = field(default_factory=list)
    who: list[Thing] = field(default_factory=list)
    inside: bool | None = None

    @property
    def held(self) -> tuple[Holding, ...]:
        return self.hangs[0]


def hangs_of(state: Sequence[Any], thing: Thing) -> Hangs:
    return (holdings(state, thing), *line_ends(state, thing))


def custody_changes(world: World, step: Step) -> list[Thing]:
    """The items whose attachment or line end the step changes, in the order declared."""
    found = {
        world.variables[change.var].thing
        for change in step.changes
        if world.variables[change.var].sort in ("held", "from", "to") and change.before != change.after
    }
    return sorted((thing for thing in found if thing.sort == "item"), key=lambda thing: thing.index)


def chains(world: World, views: list[View]) -> dict[Thing, list[list[Stay]]]:
    """Each item's stays, excursion by excursion, in the order declared; none in one whose order is circular."""
    items = [thing for thing in world.things if thing.sort == "item"]
    found: dict[Thing, list[list[Stay]]] = {item: [] for item in items}
    before: dict[Thing, Hangs] = {}
    for view in views:
        if view.times is None:
            for item in items:
                found[item].append([])
            continue
        flow = view.flow
        now: dict[Thing, Stay] = {}
        for item in items:
            hangs = hangs_of(flow.start, item)
            now[item] = Stay(item, view, None, hangs, kept=before.get(item) == hangs)
            found[item].append([now[item]])
            _look(now[item], flow.start)
        for step, state in states(flow):
            moved = False
            for change in step.changes:
                moved = moved or world.variables[change.var].sort != "property"
            if not moved:
                continue
            for item in custody_changes(world, step):
                now[item] = _next(found[item][-1], item, view, step, state)
            for item in items:
                _look(now[item], state)
        for item in items:
            before[item] = hangs_of(flow.end, item)
    return found


def _next(section: list[Stay], item: Thing, view: View, step: Step, state: Sequence[Any]) -> Stay:
    """The stay that the step begins; the one before the last again where the last was there and back."""
    hangs = hangs_of(state, item)
    last = section[-1]
    out = last.step
    if step.inserted and out is not None and out.inserted and out.entry is step.entry and last.back is None:
        earlier = next((one for one in reversed(section[:-1]) if one.back is None), None)
        if earlier is not None and earlier.hangs == hangs:
            last.back = step
            return earlier
    section.append(Stay(item, view, step, hangs))
    return section[-1]


def _look(stay: Stay, state: Sequence[Any]) -> None:
    """Notes where the thing is now and who has it."""
    at = location_in(state, stay.thing)
    if at is not None and (not stay.places or stay.places[-1] is not at):
        stay.places.append(at)
    stay.who = bearers(state, stay.thing)
    stay.inside = is_inside(state, stay.thing)


def changes_hands(sections: list[list[Stay]]) -> bool:
    return any(stay.step is not None for section in sections for stay in section)


def containers(found: dict[Thing, list[list[Stay]]]) -> dict[Thing, list[Thing]]:
    """Each item that at some time has others in or on it, with these, both in the order declared."""
    inner: dict[Thing, dict[Thing, None]] = {}
    for item, sections in found.items():
        for section in sections:
            for stay in section:
                for held in stay.held:
                    if held.holder.sort == "item":
                        inner.setdefault(held.holder, {})[item] = None
    return {holder: list(inner[holder]) for holder in sorted(inner, key=lambda one: one.index)}


@dataclass(slots=True)
class Group:
    """Things that a reader looks at together. title: what they have in common."""

    title: str
    things: list[Thing]


def groups(found: dict[Thing, list[list[Stay]]]) -> list[Group]:
    """Every thing that changes hands, and every container whose content does, once: containers with what starts in
    them; the rest by the excursion and task in which each is first moved; lines last."""
    inner = containers(found)
    moving = {item for item, sections in found.items() if changes_hands(sections)}
    shown: set[Thing] = set()
    made: list[Group] = []
    for holder, contents in inner.items():
        inside = [one for one in contents if one in moving and one not in shown and one not in inner]
        inside = [one for one in inside if _starts_in(found[one], holder)]
        if inside:
            made.append(Group(f"{holder.title}, and what starts in or on it", [holder, *inside]))
            shown.update(made[-1].things)
    by_task: dict[str, list[Thing]] = {}
    lines: list[Thing] = []
    for item in sorted(moving - shown, key=lambda one: _first_change(found[one])):
        if item.kind.ends and not holdings_ever(found[item]):
            lines.append(item)
            continue
        stay = next(stay for section in found[item] for stay in section if stay.step is not None)
        by_task.setdefault(f"First moved in {said(stay.view.world).excursion} {stay.view.number}", []).append(item)
    made += [Group(title, things) for title, things in by_task.items()]
    if lines:
        made.append(Group("Lines, by their two ends", lines))
    return made


def holdings_ever(sections: list[list[Stay]]) -> bool:
    return any(stay.held for section in sections for stay in section)


def _starts_in(sections: list[list[Stay]], holder: Thing) -> bool:
    first = next((section[0] for section in sections if section), None)
    return first is not None and any(held.holder is holder for held in first.held)


def _first_change(sections: list[list[Stay]]) -> tuple[int, int, int]:
    """(excursion, step, thing)"""
    stay = next(stay for section in sections for stay in section if stay.step is not None)
    assert stay.step is not None
    return stay.view.number, stay.step.index, stay.thing.index
