"""A name for each step that is derived from what it is, so that it lasts while the plan is edited round it.

``excursion/task/who/words``, with ``#2`` and so on for the second of the same words by the same people in one task.
"""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from typing import Any

from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import Thing


def identities(flow: ExcursionFlow) -> list[str]:
    """The name of each step, in the flow's order."""
    seen: Counter[str] = Counter()
    found = []
    for step in flow.steps:
        who = "+".join(actor.name for actor in step.cast)
        name = f"{flow.excursion.name}/{step.entry.task.name}/{who}/{words_of(step)}"
        seen[name] += 1
        found.append(name if seen[name] == 1 else f"{name}#{seen[name]}")
    return found


def words_of(step: Step) -> str:
    """A step's words as written or, of an inserted one, as its action's pattern has them."""
    if step.entry.hole:
        return "..."
    if step.entry.text and not step.inserted:
        return step.entry.text
    if step.action is None:
        return f"be at {step.entry.block.place.name}" if step.entry.block.place is not None else "be there"
    words = [
        part.words[0] if part.words else _argument(step.binding[part.slot] if part.slot < len(step.binding) else None)
        for part in step.action.pattern
    ]
    return " ".join(words).replace(" ,", ",")


def _argument(value: Any) -> str:
    if isinstance(value, Thing):
        return value.name
    if isinstance(value, Fraction):
        return str(value)
    return f'"{value}"' if isinstance(value, str) else "..."
