"""How long an action usually takes: its ``takes``, worked out once for all steps that give it the same to read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.formulas import mentions_way
from jackstay.model.records import Action, Formula, PropertyValue, RouteLength, Slot, SlotNumber, Thing
from jackstay.timing.formulas import evaluate, leaves
from jackstay.timing.records import Triple


def formulas(action: Action) -> tuple[Formula | None, Formula | None, Formula | None]:
    """What ``takes`` gives: least, likely, most; one alone is certain."""
    return (action.takes_least, action.takes, action.takes_most)


def asks_for_a_way(action: Action) -> bool:
    """Whether ``takes`` speaks of `route`: only a move that was inserted along paths has one."""
    return any(formula is not None and mentions_way(formula) for formula in formulas(action))


class Usual:
    """The usual durations of one action's steps, in seconds. To be asked for the steps of one flow."""

    __slots__ = ("_action", "_known", "_properties", "_slots", "_way")

    def __init__(self, action: Action) -> None:
        self._action = action
        read = [leaf for formula in formulas(action) if formula is not None for leaf in leaves(formula)]
        slots: list[Any] = [leaf.slot if isinstance(leaf, SlotNumber) else leaf for leaf in read]
        slots += [leaf.term for leaf in read if isinstance(leaf, PropertyValue)]
        self._slots = tuple(dict.fromkeys(slot.index for slot in slots if isinstance(slot, Slot)))
        self._properties = [leaf for leaf in read if isinstance(leaf, PropertyValue)]
        self._way = any(isinstance(leaf, RouteLength) for leaf in read)
        # by what was read, told apart by which object it is: a flow has few, and its steps keep them
        self._known: dict[tuple[int, ...], Triple | None] = {}

    def of(self, step: Step, state: Sequence[Any]) -> Triple | None:
        """state: what the step starts in. None: nobody says how long, or what is said has no value."""
        binding = step.binding
        key = (id(step.length) if self._way else 0, *[id(binding[i]) for i in self._slots])
        if key in self._known:
            return self._known[key]
        found = _worked_out(self._action, state, step)
        if not any(_may_change(leaf, binding) for leaf in self._properties):
            self._known[key] = found
        return found


def _may_change(leaf: PropertyValue, binding: Sequence[Any]) -> bool:
    """Whether any step of the campaign changes the property that is read."""
    thing = binding[leaf.term.index] if isinstance(leaf.term, Slot) else leaf.term
    return not isinstance(thing, Thing) or leaf.prop in thing.prop_vars


def _worked_out(action: Action, state: Sequence[Any], step: Step) -> Triple | None:
    least, likely, most = formulas(action)
    if likely is None or (not (step.route or step.length) and asks_for_a_way(action)):
        return None
    middle = evaluate(likely, state, step.binding, step.length)
    if middle is None or middle < 0:
        return None
    if least is None or most is None:
        return Triple(middle, middle, middle)
    low = evaluate(least, state, step.binding, step.length)
    high = evaluate(most, state, step.binding, step.length)
    if low is None or high is None or not 0 <= low <= middle <= high:
        return None
    return Triple(low, middle, high)
