"""A `takes` that comes to no time at all."""

from __future__ import annotations

from typing import Any

from jackstay.diagnostics.records import Diagnostic, Label, Problem, Severity
from jackstay.model.records import (
    Arithmetic,
    Formula,
    PropertyValue,
    RouteLength,
    SlotNumber,
    TableLookup,
    Thing,
)
from jackstay.rules import naming
from jackstay.rules.records import Rule
from jackstay.rules.story import acting, finding
from jackstay.rules.time._chain import length
from jackstay.timing.no_value import Cause

RULE = Rule("bad-duration", Severity.ERROR, "What an action's `takes` comes to is no duration.")

_BECAUSE = {
    "no-way": "`route` is the length of a way that is inserted along paths, and this step has none",
    "below-nothing": "no step takes less than no time",
    "out-of-order": "the likely time lies between the least and the most",
}


def tell(problem: Problem, plan: Any) -> Diagnostic:
    """facts: step, why (no-value, no-way, below-nothing, out-of-order), values (least, likely, most in seconds), cause
    (a `timing.no_value.Cause`, of no-value), others (further steps for the same reason)."""
    facts = problem.facts
    step, why = facts["step"], facts["why"]
    numbers = [value for value in facts["values"] if value is not None]
    if why in ("no-value", "no-way"):
        what = "the time it takes has no value"
    elif why == "below-nothing":
        what = f"it would take {_signed(min(numbers))}"
    else:
        least, likely, most = facts["values"]
        what = f"it would take {_signed(likely)}, from {_signed(least)} to {_signed(most)}"
    way = "let a heading bring the way in, `WHO at PLACE`, or write the time behind the step"
    return finding(
        RULE,
        f"{acting(step)}: {what}.",
        problem.at,
        note="no duration",
        labels=[
            Label(step.action.decl, "by this action's `takes`"),
            *_where(facts["cause"]),
            *[Label(one.entry.at, "this too") for one in facts["others"][:MOST] if one.entry.at != problem.at],
        ],
        because=_caused(facts["cause"], step.binding) if facts["cause"] is not None else _BECAUSE[why],
        fixes=[way] if why == "no-way" else [],
    )


MOST = 3  # further steps told


def _where(cause: Cause | None) -> list[Label]:
    """The thing whose property it is, or the table."""
    if cause is None:
        return []
    if cause.table is not None:
        return [Label(cause.table.decl, "this table")]
    thing = cause.part.term if isinstance(cause.part, PropertyValue) else None
    return [Label(thing.decl, f"{naming.the(thing)}, as declared")] if isinstance(thing, Thing) else []


def _caused(cause: Cause, binding: tuple[Any, ...]) -> str:
    part = _words(cause.part, binding)
    if cause.table is None or cause.key is None:
        return f"{part} is nothing, and it is divided by that" if cause.what == "divisor" else f"{part} has no value"
    table, rows = cause.table, cause.table.rows
    ends = "it has none just so"
    if cause.key > rows[-1].key:
        ends = f"its rows end at {naming.number(rows[-1].key)}" if not table.argument else "its rows end below that"
    elif cause.key < rows[0].key:
        ends = f"its rows begin at {naming.number(rows[0].key)}" if not table.argument else "its rows begin above that"
    number = naming.number(cause.key)
    figure = f", {number}" if not table.argument and part != number else ""
    return f"the table {table.name} has no row for {part}{figure}: {ends}"


def _words(part: Formula, binding: tuple[Any, ...]) -> str:
    if isinstance(part, Arithmetic):
        sign = {"*": "times", "/": "over", "+": "plus", "-": "less"}[part.op]
        return f"{_words(part.left, binding)} {sign} {_words(part.right, binding)}"
    if isinstance(part, RouteLength):
        return "the length of the way"
    if isinstance(part, SlotNumber):
        return part.slot.name
    if isinstance(part, TableLookup):
        return f"{part.table.name} of {_words(part.argument, binding)}"
    return naming.formula_text(part, binding)


def _signed(seconds: Any) -> str:
    return f"-{length(-seconds)}" if seconds < 0 else length(seconds)
