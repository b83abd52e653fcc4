"""What the rules about supplies share: figures in the words of the supply, and the steps that drew most."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.diagnostics.records import Event, Label
from jackstay.model.records import Measure, Supply, Thing
from jackstay.rules import naming
from jackstay.rules.story import acting, event
from jackstay.timing.supplies import Course

MINUTE = 60


def clock(seconds: Fraction) -> str:
    """``5 h 40 min``: whole minutes begun."""
    minutes = int(seconds // MINUTE)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def amount(like: Measure, value: Fraction) -> str:
    """A value in the unit that a quantity is written in, three digits; where that has no one unit, a share of it."""
    words = like.text.split()
    if len(words) == 2:
        try:
            unit = like.value / Fraction(words[0])
        except (ValueError, ZeroDivisionError):
            unit = Fraction(0)
        if unit:
            return f"{float(value / unit):.3g} {words[1]}"
    return f"{float(value / like.value * 100):.3g} % of it" if like.value else like.text


def whose(actor: Thing, supply: Supply) -> str:
    """``Wren's oxygen``"""
    return f"{naming.owner(actor)} {supply.name}"


def events(facts: dict[str, Any]) -> list[Event]:
    """What drew most until then, in order, each with what it drew and left."""
    course: Course = facts["course"]
    like = course.supply.amount
    return [
        event(
            n,
            one.step,
            f"draws {amount(like, one.amount)}; {course.supply.name}: {amount(like, max(one.left, Fraction(0)))} left",
        )
        for n, one in enumerate(facts["drawn"], 1)
    ]


def because(facts: dict[str, Any]) -> str:
    """How much there was, and how much of it waiting has cost."""
    course: Course = facts["course"]
    like = course.supply.amount
    waited = f", and waiting draws {amount(like, facts['waited'])} of it until then" if facts["waited"] > 0 else ""
    idle = course.actor.kind.idle
    words = f" (at {idle.name})" if waited and idle is not None else ""
    begun = f" at {clock(course.zero)}" if course.zero else ""
    return f"it starts with {like.text} when the clock starts{begun}{waited}{words}"


def when(facts: dict[str, Any]) -> str:
    """What the actor is doing then."""
    step = facts["step"]
    return f"while {naming.proper(facts['actor'])} waits" if step is None else f"while {acting(step)}"


def labels(facts: dict[str, Any], low: str) -> list[Label]:
    """The supply, and the actor's others that come to the same. low: what they come to, in words."""
    supply: Supply = facts["supply"]
    found = [Label(supply.decl, f"{supply.name}: {supply.amount.text}")]
    return found + [Label(s.decl, f"{s.name}: {low} at {clock(at)}") for s, at in facts["others"]]
