"""The figures that a plan rests on and that nobody has verified: what each is, and what is known of where it is from.

Figures are found where they are used: in the times, paces and ranges of the steps that are flown, in what the crew
carries and uses up, in the rules, and where the plan's own files name a value.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from jackstay.flow.records import ExcursionFlow
from jackstay.model.formulas import origins_of
from jackstay.model.records import Action, Formula, Kind, Origin, PropertyValue, Slot, Thing, World
from jackstay.timing.formulas import leaves

MARK = "unverified"


def unverified(world: World, flows: Iterable[ExcursionFlow]) -> list[Origin]:
    """Each once, in a steady order."""
    found = dict.fromkeys(origin for origin in _used(world, flows) if origin is not None and not origin.verified)
    once: dict[tuple[str, str], Origin] = {}
    for origin in found:
        once.setdefault((origin.what, origin.text), origin)
    return sorted(once.values(), key=lambda origin: (origin.what, origin.text))


def in_words(origins: Iterable[Origin]) -> str:
    """``UNVERIFIED figures …: table no-stop (Diving Manual …); pace of diver (from memory).`` Empty for none."""
    by_source: dict[str, list[str]] = {}
    for origin in sorted(origins, key=lambda origin: (not origin.text, origin.text, origin.what)):
        by_source.setdefault(origin.text, []).append(origin.what)
    told = [f"{', '.join(whats)} ({text or 'from memory'})" for text, whats in by_source.items()]
    return f"UNVERIFIED figures that this plan rests on: {'; '.join(told)}." if told else ""


def marked(origin: Origin | None) -> str:
    """What stands behind a figure that is printed."""
    return f" ({MARK})" if origin is not None and not origin.verified else ""


def _used(world: World, flows: Iterable[ExcursionFlow]) -> Iterator[Origin | None]:
    kinds: set[Kind] = set()
    for flow in flows:
        seen: set[Action] = set()
        for actor in (member.actor for member in flow.excursion.crew):
            kinds.update(actor.kind.lineage)
            yield from _of_crew(actor)
        for step in flow.steps:
            action = step.action
            if action is None:
                continue
            if step.entry.duration is None or step.inserted:
                yield from _of_times(action, step.binding)
            if action not in seen:
                seen.add(action)
                yield action.effort.origin if action.effort is not None else None
                yield action.expects_origin
                yield from _of_formula(action.no_faster, step.binding)
    for rule in world.rules:
        if any(kind in kinds for slot in rule.slots for kind in slot.kinds) or not rule.slots:
            yield rule.origin
            yield from _of_formula(rule.longer_by, ())
            for measure in (rule.longer_than, rule.every, rule.again):
                yield from measure.origins if measure is not None else ()
    plan = {excursion.decl.path for excursion in world.excursions} | {thing.decl.path for thing in world.things}
    yield from (origin for origin, at in world.said_figures if at.path in plan)


def _of_crew(actor: Thing) -> Iterator[Origin | None]:
    kind = actor.kind
    yield from (carry.origin for carry in kind.carries)
    yield kind.idle.origin if kind.idle is not None else None
    for supply in kind.supplies:
        yield supply.origin
        for measure in (supply.amount, supply.reserve):
            yield from measure.origins if measure is not None else ()
        yield from _of_formula(supply.drains, (actor,))


def _of_times(action: Action, binding: tuple[Any, ...]) -> Iterator[Origin | None]:
    yield action.origin
    for formula in (action.takes, action.takes_least, action.takes_most):
        yield from _of_formula(formula, binding)


def _of_formula(formula: Formula | None, binding: tuple[Any, ...]) -> Iterator[Origin | None]:
    """Its values and tables, and the usual values of properties that the things bound do not write themselves."""
    if formula is None:
        return
    yield from origins_of(formula)
    for leaf in leaves(formula):
        if isinstance(leaf, PropertyValue):
            thing: Any = leaf.term
            if isinstance(thing, Slot):
                thing = binding[thing.index] if thing.index < len(binding) else None
            if isinstance(thing, Thing) and leaf.prop not in thing.texts and leaf.prop in thing.kind.properties:
                yield thing.kind.properties[leaf.prop].origin
