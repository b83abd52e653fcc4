"""What a problem is about, by name: what stays the same when lines move, numbers change or the words of a rule do.

Facts that say who, what and which count; where something happens to be, how many and how late do not.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import Step
from jackstay.model.records import AnyOf, Entry, Fallback, Task, Test, Thing, TimeBound, Var

# The facts that tell one finding of a rule from another of the same rule at the same place, in the order they are told.
_WHO = ("actor", "doer", "other", "thing", "things_of", "line", "holder", "place", "seat", "first", "second", "last")
_WHAT = ("name", "prop", "manner", "outcome", "what", "word", "text", "previous", "rule", "task", "fallback", "supply")
_WHICH = ("mark", "call", "against", "by", "test", "goal", "bound", "var", "vars", "binding", "dropped", "problem")
_TOLD = _WHO + _WHAT + _WHICH + ("clash", "circle")
_NESTED = ("actor", "thing", "name", "prop", "fallback", "rule", "test")  # of what a fallback or a drop meets


def names_of(problem: Problem) -> tuple[str, ...]:
    """Names, properties, clauses and steps, in a fixed order, each once."""
    return tuple(dict.fromkeys(_told(problem, _TOLD)))


def _told(problem: Problem, keys: tuple[str, ...]) -> Iterator[str]:
    for key in keys:
        if key in problem.facts:
            yield from _names(problem.facts[key])


def _names(fact: Any) -> Iterator[str]:
    if isinstance(fact, str):
        yield fact
    elif isinstance(fact, Task):
        yield fact.was or fact.name
    elif isinstance(fact, Fallback | Thing):
        yield fact.name
    elif isinstance(fact, Step):
        yield from _doing(fact.entry, fact.binding, fact.action)
    elif isinstance(fact, Entry):
        yield from _doing(fact, fact.binding, fact.action)
    elif isinstance(fact, Test):
        yield from _test(fact)
    elif isinstance(fact, Var):
        yield f"{fact.prop or fact.sort} of {fact.thing.name}"
    elif isinstance(fact, TimeBound):
        yield fact.sort
        yield from _names(fact.mark)
    elif isinstance(fact, Problem):
        yield fact.rule
        yield from _told(fact, _NESTED)
    elif type(fact) in (tuple, list):
        for part in fact:
            yield from _names(part)
    else:
        name = getattr(fact, "name", None)  # marks, supplies, rules of the plan, excursions, kinds
        if isinstance(name, str):
            yield name


def _doing(entry: Entry, binding: tuple[Any, ...], action: Any) -> Iterator[str]:
    """Who does what, without its times and bounds; of a heading, where to."""
    doers = " and ".join(one.name for one in binding[:2] if isinstance(one, Thing))
    if action is None:
        yield f"{doers} at {entry.block.place.name}" if entry.block.place is not None else doers
        return
    words = [
        part.words[0] if part.words else _argument(binding[part.slot] if part.slot < len(binding) else None)
        for part in action.pattern
    ]
    yield " ".join([doers, *(word for word in words if word)])


def _argument(value: Any) -> str:
    return value.name if isinstance(value, Thing | AnyOf) else ""


def _test(test: Test) -> Iterator[str]:
    terms = (getattr(test.a, "name", ""), test.prop, test.manner, getattr(test.b, "name", ""))
    yield " ".join(["not"] * test.negated + [word for word in terms if word])
