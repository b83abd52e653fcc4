"""A unit as records tell of it: where it stands, and what stands with it."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from jackstay.comparing.meaning import Bound, Lengths, Unit
from jackstay.comparing.records import StepAt
from jackstay.outputs.clock import minutes


def step_at(unit: Unit) -> StepAt:
    head = unit.head if unit.first else ()
    waits = tuple(dict.fromkeys(f"{wait.how} {wait.call.name}" for wait in (*head, *unit.waits)))
    return StepAt(
        unit.task, unit.doers or unit.cast, unit.text, unit.place, unit.seat, waits, tuple(_more(unit)), unit.at
    )


def _more(unit: Unit) -> Iterator[str]:
    if unit.lengths is not None:
        yield f"[{length_words(unit.lengths)}]"
    if unit.sort != "routine":
        yield from (f"says {name}" for name in unit.says)
    yield from (bound_text(bound) for bound in (*(unit.head_bounds if unit.first else ()), *unit.bounds))
    if unit.expect is not None:
        yield f"expect {unit.expect}"
    yield from (f"if {outcome}: {then}" for outcome, then in unit.answers)
    yield from (f'{sort} "{text}"' for sort, text in unit.remarks)


def bound_text(bound: Bound) -> str:
    return f"{bound.text} of {bound.call.name}" if bound.sort == "within" and bound.call is not None else bound.text


def length_words(lengths: Lengths | None) -> str | None:
    """``6 min``, ``6 min, 4 to 12 min``, ``4 to 12 min``"""
    if lengths is None:
        return None
    likely, least, most = lengths
    spread = f"{_number(least)} to {minutes(most)}" if least is not None and most is not None else ""
    return ", ".join(part for part in (minutes(likely) if likely is not None else "", spread) if part)


def _number(seconds: Fraction) -> str:
    return minutes(seconds).removesuffix(" min")
