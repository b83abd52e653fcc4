"""Things, clauses and steps as words of a sentence.

No word of a vocabulary stands here: verbs come from the actions' patterns, manners from the kinds, `in` or `on` from
how the plan itself writes it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import (
    GROUND,
    Action,
    AnyOf,
    Const,
    Entry,
    Formula,
    Here,
    Holding,
    Measure,
    PropertyValue,
    Quantified,
    Slot,
    SlotNumber,
    Term,
    Test,
    Thing,
    TotalOf,
    Var,
    World,
)

Binding = tuple[Any, ...] | list[Any]
_WRITTEN = re.compile(r"^\s*[-+]?[0-9.]+\s*([^\s0-9].*)$")


def the(thing: Thing | None) -> str:
    """``Wren``, ``the cable bag``, ``bay4``, ``kit-w``: as it is spoken of in a sentence."""
    if thing is None:
        return "nowhere"
    if thing.sort == "actor":
        return proper(thing)
    last = thing.name.rsplit("-", 1)[-1]
    if len(last) <= 2 or any(letter.isdigit() for letter in thing.name):
        return thing.name
    return f"the {thing.name.replace('-', ' ')}"


def proper(thing: Thing) -> str:
    """What an actor is called: ``Wren``, ``Diver 2``, or the title that the plan gives."""
    return thing.title or thing.name


def capital(text: str) -> str:
    """The first letter of a sentence; a name of the plan's text that stands there keeps its own."""
    first = text.split(" ", 1)[0].rstrip(",'")
    if any(letter.isdigit() for letter in first) or "-" in first:
        return text
    return text[:1].upper() + text[1:]


def owner(thing: Thing) -> str:
    """``Wren's``, ``the porch's``"""
    word = the(thing)
    return f"{word}'" if word.endswith("s") else f"{word}'s"


def listed(words: Iterable[str], last: str = "and") -> str:
    """``a``, ``a and b``, ``a, b and c``"""
    every = list(words)
    return f" {last} ".join([", ".join(every[:-1]), every[-1]]) if len(every) > 1 else "".join(every)


def a_kind(name: str) -> str:
    spoken_a = re.match(r"uni|use|usu|eu|one", name) or name[:1] not in "aeiou"
    return f"a {name}" if spoken_a else f"an {name}"


def number(value: Any) -> str:
    """A count or a bare number, a word, a thing."""
    if isinstance(value, Fraction):
        return str(value.numerator) if value.denominator == 1 else f"{float(value):g}"
    if isinstance(value, Thing):
        return the(value)
    return "not stated" if value is None else str(value)


def like(value: Fraction, measure: Measure | None) -> str:
    """A quantity in the unit that another one is written in; in base units where that cannot be read off."""
    found = _WRITTEN.match(measure.text) if measure is not None else None
    if measure is None or found is None or measure.value == 0:
        return number(value)
    written = measure.text[: found.start(1)].strip()
    scale = measure.value / Fraction(written)
    return f"{number(value / scale)} {found[1].strip()}" if scale else number(value)


def a_length(world: World) -> Measure | None:
    """Some length as the plan writes it, for its unit."""
    return world.paths[0].length if world.paths else None


def property_value(thing: Thing, prop: str, value: Any) -> str:
    """``off``, ``2 of 4``, ``61 kg`` (as written, where it is the written value)."""
    if isinstance(value, Fraction):
        total = thing.totals.get(prop)
        if total is not None:
            return f"{number(value)} of {number(total)}"
        if thing.values.get(prop) == value and prop in thing.texts:
            return thing.texts[prop]
    return number(value)


# --- steps -----------------------------------------------------------------------------------------------------------


def third(verb: str) -> str:
    """``take`` -> ``takes``, ``fly`` -> ``flies``, ``finish`` -> ``finishes``"""
    if re.search(r"(s|x|z|ch|sh|o)$", verb):
        return f"{verb}es"
    if re.search(r"[^aeiou]y$", verb):
        return f"{verb[:-1]}ies"
    return f"{verb}s"


def phrase(action: Action, binding: Binding) -> list[str]:
    """The words of a step, slots filled with the names that the plan writes."""
    words = []
    for part in action.pattern:
        if part.words:
            words.append(part.words[0])
            continue
        value = binding[part.slot] if part.slot < len(binding) else None
        if isinstance(value, (Thing, AnyOf)):
            words.append(value.name)
        elif isinstance(value, Fraction):
            words.append(number(value))
        else:
            words.append("…" if value is None else f'"{value}"')
    return words


def joined(words: list[str]) -> str:
    return " ".join(words).replace(" ,", ",")


def words_of(step: Step) -> list[str]:
    """A step as done, verb first."""
    entry = step.entry
    if step.action is None:
        return arrival(entry)
    if not step.inserted and entry.text and step.binding == entry.binding:
        return entry.text.split(" ")
    return phrase(step.action, step.binding)


def arrival(entry: Entry) -> list[str]:
    """What an entry without an action asks for: to be somewhere, or something not yet written."""
    if entry.hole:
        return ["do", "what", "is", "not", "yet", "written"]
    block = entry.block
    words = ["be"]
    if block.place is not None:
        words += ["at", block.place.name]
    if block.seat is not None:
        words += ["in", block.seat.name]
    return words if len(words) > 1 else ["begin"]


def entry_words(entry: Entry) -> list[str]:
    if entry.action is None:
        return arrival(entry)
    return entry.text.split(" ") if entry.text else phrase(entry.action, entry.binding)


def doers(binding: Binding) -> list[Thing]:
    return [one for one in binding[:2] if isinstance(one, Thing)]


def who(binding: Binding) -> str:
    """``Wren``, ``Wren and Teal``"""
    return listed(the(one) for one in doers(binding)) or "Somebody"


def does(words: list[str], binding: Binding) -> str:
    """``takes pouch from porch`` of one, ``free pump from seat`` of two."""
    if len(doers(binding)) > 1 or not words:
        return joined(words)
    verb = {"be": "is"}.get(words[0]) or third(words[0])
    return joined([verb, *words[1:]])


def doing(step: Step) -> str:
    """What a step does, as said of its doers; a step that no line of the plan writes is marked."""
    text = does(words_of(step), step.binding)
    if len(step.route) > 2:
        text += f", by way of {listed(place.name for place in step.route[1:-1])}"
    return f"{text} (inserted)" if step.inserted else text


# --- values of variables ---------------------------------------------------------------------------------------------


def holding(held: Holding) -> str:
    """``hand of Wren``; ``porch`` where only the holder matters."""
    if held.holder.sort == "actor":
        return f"{held.manner} of {proper(held.holder)}"
    return held.holder.name


def value_text(var: Var, value: Any) -> str:
    """A state value in the few words of an event."""
    if var.sort == "held":
        held: tuple[Holding, ...] = value or ()
        return " and ".join(holding(one) for one in held) or "nothing"
    if var.sort == "property":
        return property_value(var.thing, var.prop, value)
    if isinstance(value, Thing):
        return proper(value) if value.sort == "actor" else value.name
    return "nowhere" if value is None else str(value)


def variable(var: Var) -> str:
    """``cable-bag``, ``power of feed``, ``reel-w to``: what an event's state is of."""
    name = proper(var.thing) if var.thing.sort == "actor" else var.thing.name
    if var.sort == "property":
        return f"{var.prop} of {name}"
    return f"{name} {var.sort}" if var.sort in ("from", "to") else name


def matter(var: Var) -> str:
    """``where the cable bag is``, ``the power of the feed``: a variable in a sentence."""
    if var.sort == "property":
        return f"the {var.prop} of {the(var.thing)}"
    if var.sort in ("from", "to"):
        return f"where the `{var.sort}` end of {the(var.thing)} is"
    return f"where {the(var.thing)} is"


# --- clauses ---------------------------------------------------------------------------------------------------------


def preposition(test: Test) -> str:
    """`in` or `on`, as the clause has it."""
    return "in" if re.search(r"\bin\b", test.text) else "on"


def resolved(term: Term | None, binding: Binding) -> Thing | None:
    if isinstance(term, Thing):
        return term
    if isinstance(term, Slot) and term.index < len(binding):
        bound = binding[term.index]
        return bound if isinstance(bound, Thing) else None
    return None


_ANY = {  # of the built-in sorts
    (True, "every"): "everybody",
    (True, "some"): "somebody",
    (True, "none"): "nobody",
    (False, "every"): "everything",
    (False, "some"): "something",
    (False, "none"): "nothing",
}


def term_text(term: Term | None, binding: Binding) -> str:
    thing = resolved(term, binding)
    if thing is not None:
        return the(thing)
    if isinstance(term, Quantified):
        kind = term.kind.name
        if kind == term.kind.sort:
            return _ANY.get((kind == "actor", term.quant), kind)
        return {"every": f"every {kind}", "none": f"no {kind}"}.get(term.quant, a_kind(kind))
    return "the place" if isinstance(term, Here) else "…"


def formula_text(formula: Formula | None, binding: Binding) -> str:
    """The value that a clause asks for."""
    if isinstance(formula, Const):
        return formula.text or number(formula.value)
    if isinstance(formula, SlotNumber):
        return number(binding[formula.slot.index])
    if isinstance(formula, TotalOf):
        thing = resolved(formula.term, binding)
        total = thing.totals.get(formula.prop) if thing is not None else None
        return "all" if total is None else f"all {number(total)}"
    if isinstance(formula, PropertyValue):
        return f"the {formula.prop} of {term_text(formula.term, binding)}"
    if isinstance(formula, (Slot, Thing)):
        return term_text(formula, binding)
    return "what is worked out"


def relation(test: Test, binding: Binding) -> str:
    """What a clause says of its first thing: ``in Wren's hand``, ``at bay4``, ``off``, ``at least 2``."""
    b = term_text(test.b, binding)
    holder = resolved(test.b, binding)
    if test.op == "attached":
        if test.manner is None:
            return f"{preposition(test)} {b}"
        return f"{preposition(test)} {owner(holder) if holder else b + chr(39) + 's'} {test.manner}"
    if test.op in ("is", "least", "most"):
        words = {"least": "at least ", "most": "at most "}.get(test.op, "")
        return words + formula_text(test.value, binding)
    return {
        "located": f"at {b}",
        "reach": f"in reach of {b}",
        "sight": f"in sight of {b}",
        "from": f"from {b}",
        "to": f"to {b}",
        "working": f"working on {b}",
        "moving": f"moving at {b}",
        "done": "done",
    }.get(test.op, test.text)


def subject(test: Test, binding: Binding) -> str:
    a = term_text(test.a, binding)
    if test.prop is not None and test.op in ("is", "least", "most"):
        return f"the {test.prop} of {a}"
    return a


def clause(test: Test, binding: Binding) -> str:
    """A literal as a clause: ``the power of the feed is on``, ``no tether is to Wren``."""
    if test.negated and isinstance(test.b, Quantified) and test.b.quant == "some":
        plain = test._replace(negated=False, b=test.b._replace(quant="none"))
        return clause(plain, binding)
    if test.op in ("from", "to"):
        verb = "does not run" if test.negated else "runs"
        return f"{subject(test, binding)} {verb} {relation(test, binding)}"
    return f"{subject(test, binding)} is {'not ' if test.negated else ''}{relation(test, binding)}"


def effect(action: Action | None, text: str, binding: Binding) -> str:
    """An effect, given as written, as a clause about the things of a step."""
    made = next((one.test for one in action.effects if one.test.text == text), None) if action is not None else None
    return clause(made, binding) if made is not None else text


def ground(held: Holding) -> bool:
    """Whether this is lying somewhere rather than hanging on something."""
    return held.manner == GROUND
