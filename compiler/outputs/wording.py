"""Things, steps, calls and bounds in the words that are printed. No word of a vocabulary is written here: verbs and
connecting words come from the actions' own patterns, manners from the kinds."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import Action, Block, Entry, Holding, Mark, Property, Thing, TimeBound
from jackstay.model.words import title_of
from jackstay.outputs.clock import clock
from jackstay.source.spans import Span
from jackstay.timing.records import Delay


def label(thing: Thing) -> str:
    """The title; with the name beside it where the title does not derive from it."""
    return thing.title if thing.title == title_of(thing.name) else f"{thing.title} [{thing.name}]"


def labels(things: "tuple[Thing, ...] | list[Thing]") -> str:
    """``Wren``, ``Wren and Teal``, ``Wren, Teal and Moss``"""
    words = [label(thing) for thing in things]
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def source_place(at: Span) -> str:
    return f"{at.path}:{at.line}" if at.path else ""


def number(value: Fraction) -> str:
    return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"


def sentence(action: Action, binding: tuple[Any, ...]) -> str:
    """The action's pattern with its slots filled. Where either of two words may stand, the first is taken."""
    words: list[str] = []
    for part in action.pattern:
        if part.words:
            words.append(part.words[0])
        else:
            words.append(_argument(binding[part.slot] if part.slot < len(binding) else None))
    return " ".join(words).replace(" ,", ",")


def _argument(value: Any) -> str:
    if isinstance(value, Thing):
        return value.name
    if isinstance(value, Fraction):
        return number(value)
    return f'"{value}"' if isinstance(value, str) else "..."


def entry_text(entry: Entry) -> str:
    """What is to be done, as written; an arrival as a place to be."""
    if entry.hole:
        return "... (not yet written)"
    if entry.action is None:
        return f"be {where_to(entry.block)}"
    return entry.text or sentence(entry.action, entry.binding)


def step_text(step: Step) -> str:
    """What is done. An inserted move names the way it takes, where that is more than two places."""
    if not step.inserted:
        if step.action is not None and step.binding != step.entry.binding:  # one of a group was chosen
            return sentence(step.action, step.binding)
        return entry_text(step.entry)
    text = sentence(step.action, step.binding) if step.action is not None else entry_text(step.entry)
    if len(step.route) > 2:
        text += f" (by way of {', '.join(place.name for place in step.route[1:-1])})"
    return text


def where_to(block: Block) -> str:
    words = []
    if block.place is not None:
        words.append(f"at {label(block.place)}")
    if block.seat is not None:
        words.append(f"in {label(block.seat)}")
    return " ".join(words) if words else "where you are"


def spoken(mark: Mark) -> str:
    """A call as it is spoken: ``bolts-out`` is said "bolts out"."""
    return mark.name.replace("-", " ")


def caller(mark: Mark) -> str:
    """Who speaks a call: whoever does the step, or who runs the machine that does it (``Moss for Heron``)."""
    if mark.entry is None or not mark.entry.cast:
        return "nobody"
    doer = mark.entry.cast[0]
    return label(doer) if doer.runner is None else f"{label(doer.runner)} for {label(doer)}"


def speaks(mark: Mark, actor: Thing) -> bool:
    """Whether the call is this actor's to make."""
    doer = mark.entry.cast[0] if mark.entry is not None and mark.entry.cast else None
    return doer is not None and actor is (doer.runner or doer)


def who_does(cast: tuple[Thing, ...], actor: Thing, joins: str = "{} and you: ") -> str:
    """What stands before a step's words in the list of somebody who does not do it alone; empty for one who does.
    joins: how one who joins is told of the one who leads."""
    if not cast or cast[0] is actor:
        company = [one for one in cast if one is not actor and one is not actor.runner]
        return f"with {labels(company)}: " if company else ""
    lead = cast[0]
    return f"run {label(lead)}: " if lead.runner is actor else joins.format(label(lead))


def holding(held: Holding) -> str:
    """``Wren (by hand)``"""
    return f"{label(held.holder)} (by {held.manner})" if held.manner else label(held.holder)


def value_text(value: Any, prop: Property | None = None, thing: Thing | None = None) -> str:
    """A property's value; a count with its total where the thing states one, a quantity in the unit of its kind."""
    if value is None:
        return "not stated"
    if isinstance(value, Thing):
        return label(value)
    if isinstance(value, Fraction):
        text = number(value)
        if prop is not None and thing is not None and prop.name in thing.totals:
            text += f" of {number(thing.totals[prop.name])}"
        if prop is not None and prop.sort == "quantity":
            factor, zero = prop.scale
            return f"{number((value - zero) / factor)} {prop.unit}".rstrip()
        return text
    return str(value)


def bound_text(bound: TimeBound) -> str:
    """``by 3:10``, ``not before 0:45``, ``within 0:20 of "bolts out"``, ``in daylight``"""
    if bound.sort == "light":
        return f"in {bound.word}"
    if bound.sort == "within" and bound.mark is not None:
        return f'within {clock(bound.value)} of {caller(bound.mark)}\'s "{spoken(bound.mark)}"'
    words = {"by": "finished by", "not-before": "not before"}
    return f"{words.get(bound.sort, bound.sort)} {clock(bound.value)}"


def awaited(steps: list[Step], actor: Thing, delay: Delay, by_clock: str) -> str:
    """What an actor waits for: ``for Teal, who first has: put tray on tower-rail``; the light; the clock (by_clock)."""
    if delay.why == "light":
        return "for the light"
    if delay.cause is None:
        return by_clock
    step = steps[delay.cause]
    if delay.why == "within":
        return f"so as not to be through too long before {labels(step.cast)}: {step_text(step)}"
    return (
        f"for {labels([one for one in step.cast if one is not actor] or step.cast)}, who first has: {step_text(step)}"
    )
