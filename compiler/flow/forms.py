"""What stands under the headings of a form, read off an excursion; and whether anything is missing there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from jackstay.diagnostics.records import Problem
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import (
    AnyOf,
    Const,
    Entry,
    Filled,
    Form,
    Heading,
    Holding,
    Kind,
    Quantified,
    Query,
    Slot,
    Term,
    Test,
    Thing,
    World,
)


class Row(NamedTuple):
    """One line under a heading. sort: the query's word, ``steps``, ``property`` or ``said``; what: a thing, task, step,
    entry, rule, fallback, text (as the sort has it)."""

    sort: str
    what: Any
    prop: str = ""


class Sheet(NamedTuple):
    """A form as an excursion fills it: rows by heading, in the form's order."""

    form: Form
    filled: Filled | None
    rows: dict[str, list[Row]]


def sheets(world: World, one: ExcursionFlow) -> Iterator[Sheet]:
    """The forms that an excursion fills, or has to."""
    for form in world.forms.values():
        filled = next((filled for filled in one.excursion.fills if filled.form is form), None)
        if filled is not None or who_needs(form, one) is not None:
            rows = {heading.name: list(_under(world, one, heading, filled)) for heading in form.headings.values()}
            yield Sheet(form, filled, rows)


def who_needs(form: Form, one: ExcursionFlow) -> Thing | None:
    """The first of the crew for whom this form has to be there."""
    crew = (member.actor for member in one.excursion.crew)
    return next((actor for actor in crew if form.kind is not None and actor.kind.is_a(form.kind)), None)


def check_forms(world: World, one: ExcursionFlow) -> None:
    """Report ``form-missing`` and ``form-unfilled``."""
    for sheet in sheets(world, one):
        if sheet.filled is None:
            facts: dict[str, Any] = {"form": sheet.form, "excursion": one.excursion}
            facts["actor"] = who_needs(sheet.form, one)
            one.problems.append(Problem("form-missing", one.excursion.decl, facts))
            continue
        for heading in sheet.form.headings.values():
            said = any(row.sort == "said" for row in sheet.rows[heading.name])
            if (heading.asks and not said) or (heading.queries and not sheet.rows[heading.name]):
                written = sheet.filled.texts.get(heading.name)
                at = written[1] if written is not None else sheet.filled.at
                facts = {"form": sheet.form, "heading": heading, "excursion": one.excursion}
                facts["blank"] = written is not None
                one.problems.append(Problem("form-unfilled", at, facts))


def _says(text: str) -> bool:
    """Whether anything of a text can be seen on a sheet."""
    return any(char.isprintable() and not char.isspace() for char in text)


def _under(world: World, one: ExcursionFlow, heading: Heading, filled: Filled | None) -> Iterator[Row]:
    for query in heading.queries:
        yield from _answer(world, one, query)
    if filled is not None and heading.name in filled.texts:
        yield from (Row("said", text) for text in filled.texts[heading.name][0] if _says(text))


def _answer(world: World, one: ExcursionFlow, query: Query) -> Iterator[Row]:
    excursion, word, kind = one.excursion, query.word, query.kind
    if query.test is not None:
        yield from (Row("steps", step) for step in one.steps if _makes(step, query.test))
    elif word == "excursion":
        yield Row(word, excursion)
    elif word == "date" and excursion.begins is not None:
        yield Row(word, excursion.begins)
    elif word == "limit" and excursion.limit is not None:
        yield Row(word, excursion)
    elif word == "tasks":
        yield from (Row(word, task) for task in excursion.tasks)
    elif word == "crew":
        yield from (Row(word, m) for m in excursion.crew if kind is None or m.actor.kind.is_a(kind))
    elif word == "rules":
        yield from (Row(word, rule) for rule in {rule.name: rule for rule in world.rules}.values())
    elif word == "hazards":
        kinds = {kind for thing in in_play(world, one) for kind in thing.kind.lineage}
        for hazard in world.hazards.values():
            if all(not kinds.isdisjoint(slot.kinds) for slot in hazard.slots):
                yield Row(word, hazard)
    elif word == "fallbacks":
        yield from (Row(word, fallback) for fallback in excursion.fallbacks)
    elif word in ("warnings", "reasons", "readings", "calls"):
        yield from _of_entries(one, word, kind)
    elif kind is not None or word == "things":
        things = [thing for thing in in_play(world, one) if kind is None or thing.kind.is_a(kind)]
        for thing in things:
            yield Row("things", thing) if word == "things" else Row("property", thing, word)


def _of_entries(one: ExcursionFlow, word: str, kind: Kind | None) -> Iterator[Row]:
    told: set[Any] = set()
    for entry in one.excursion.entries:
        found: list[Any] = []
        if word == "warnings":
            found = [remark for remark in entry.remarks if remark.sort != "note" and _says(remark.text)]
        elif word == "reasons" and entry.because is not None and _says(entry.because):
            found = [entry.because]
        elif word == "readings" and entry.expect is not None and _about(entry, kind):
            found = [entry]
        elif word == "calls" and entry.says is not None:
            found = [entry.says]
        for what in found:
            key = (what.sort, what.text) if word == "warnings" else what
            if key not in told:
                told.add(key)
                yield Row(word, what)


def _about(entry: Entry, kind: Kind | None) -> bool:
    return kind is None or any(isinstance(one, Thing) and one.kind.is_a(kind) for one in entry.binding)


def in_play(world: World, one: ExcursionFlow) -> list[Thing]:
    """The crew, where they are or go, what a step speaks of, and what any of them holds; in order of declaration."""
    found: set[Thing] = {member.actor for member in one.excursion.crew}

    def note(value: Any) -> None:
        if isinstance(value, Thing):
            found.add(value)
        elif isinstance(value, AnyOf):
            found.update(value.members)
        elif isinstance(value, tuple):
            for held in value:
                if isinstance(held, Holding):
                    found.add(held.holder)

    for actor in list(found):
        note(one.start[actor.place_var] if actor.place_var >= 0 else None)
    for step in one.steps:
        for value in step.binding:
            note(value)
        for change in step.changes:
            found.add(world.variables[change.var].thing)
            note(change.after)
    for thing in world.things:  # what hangs on somebody of the crew from the start
        if thing.held_var >= 0 and any(held.holder in found for held in one.start[thing.held_var] or ()):
            holder = one.start[thing.held_var][0].holder
            if holder.sort != "location":
                found.add(thing)
    return [thing for thing in world.things if thing in found]


def _makes(step: Step, wanted: Test) -> bool:
    """Whether a step's effects bring about what a query asks for."""
    if step.action is None:
        return False
    for effect in step.action.effects:
        test = effect.test
        same = (test.op, test.negated, test.prop) == (wanted.op, wanted.negated, wanted.prop)
        if not same or (wanted.manner is not None and test.manner != wanted.manner):
            continue
        if not _fits(test.a, wanted.a, step) or (wanted.b is not None and not _fits(test.b, wanted.b, step)):
            continue
        if wanted.value is None or _value(test.value, step) == _value(wanted.value, None):
            return True
    return False


def _fits(term: Term | None, wanted: Term, step: Step) -> bool:
    thing = step.binding[term.index] if isinstance(term, Slot) and term.index < len(step.binding) else term
    if not isinstance(thing, Thing):
        return False
    if isinstance(wanted, Thing):
        return thing is wanted
    kinds = wanted.kinds if isinstance(wanted, Slot) else (wanted.kind,) if isinstance(wanted, Quantified) else ()
    return any(thing.kind.is_a(kind) for kind in kinds)


def _value(value: Any, step: Step | None) -> Any:
    if isinstance(value, Slot):
        return step.binding[value.index] if step is not None and value.index < len(step.binding) else None
    return value.value if isinstance(value, Const) else value
