"""The lists of each excursion: what is packed, used, left and brought back, and how much anybody carries."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any, NamedTuple

from jackstay.flow.records import Step
from jackstay.model.records import Carry, Thing, World
from jackstay.outputs.clock import clock
from jackstay.outputs.deck_carry import tools_of
from jackstay.outputs.ending import moved
from jackstay.outputs.figures import marked
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head, frame_of_time
from jackstay.outputs.lists_closed import closed, used, used_inside
from jackstay.outputs.packing import Passage, passages
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.situation import contents, describe, is_inside, line_ends, states
from jackstay.outputs.supplies import three_digits
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import label, labels, number, source_place, step_text, value_text
from jackstay.outputs.words import Said, said
from jackstay.timing.formulas import property_in


def about(words: Said) -> str:
    return (
        f"What {words.goes_out}, on whom and in what; what the plan uses {words.inside}; what {words.comes_in} and "
        f"what {words.stays_out}. All of it is read off the steps, and the lists of what {words.goes_out} are checked "
        "once more as a start of their own."
    )


class Item(NamedTuple):
    """depth: how far in. box: it is ticked off."""

    text: str
    depth: int = 0
    box: bool = False
    source: str = ""


class Section(NamedTuple):
    title: str
    items: tuple[Item, ...]
    note: str = ""
    loud: bool = False


class Chapter(NamedTuple):
    """One excursion."""

    view: View
    number: int
    of: int
    title: str
    name: str
    time: str
    source: str
    lost: str
    sections: tuple[Section, ...]


def chapters(world: World, views: list[View]) -> list[Chapter]:
    return [
        Chapter(
            view,
            view.number,
            len(views),
            view.excursion.title,
            view.excursion.name,
            frame_of_time(view.excursion),
            source_place(view.excursion.decl),
            NOT_WORKED_OUT if view.times is None else "",
            tuple(_sections(world, view)) if view.times is not None else (),
        )
        for view in views
    ]


def lists(made: list[Chapter], frame: Frame) -> str:
    """pack.txt"""
    words = frame.said
    head = f"Lists: what {words.goes_out}, what it is used for, what {words.comes_in}"
    lines = [*frame.head(head), *wrap(about(words))]
    for chapter in made:
        lines += ["", "", *excursion_head(chapter.view, chapter.of)]
        lines += [chapter.lost] if chapter.lost else []
        for section in chapter.sections:
            lines += ["", *heading(section.title)]
            for item in section.items:
                first = f"  {'    ' * item.depth}{'[ ] ' if item.box else ''}"
                lines += wrap(item.text + (f"  ({item.source})" if item.source else ""), first, " " * (len(first) + 2))
            lines += [] if section.items else ["  nothing"]
            lines += wrap(section.note, "  ") if section.note else []
    return "\n".join([*lines, *frame.set_aside(), *frame.foot()]) + "\n"


def _sections(world: World, view: View) -> Iterator[Section]:
    words = said(world)
    out, back = passages(world, view)
    yield from _pack(view, out, {passage.item for passage in back})
    inside = used_inside(world, view, [passage.item for passage in out])
    verdict = closed(world, view, [*(passage.item for passage in out), *inside])
    yield Section(
        words.put("Used inside, stays inside"),
        tuple(Item(_used_inside(view, thing, words), box=True) for thing in inside),
        words.put(verdict.words) if not verdict.missing else verdict.words,
        bool(verdict.missing),
    )
    needed = used(world, view)
    home = {passage.item for passage in back}
    idle = [Item(label(one.item)) for one in out if one.item in home and one.item not in needed]
    if idle:
        yield Section(f"{_capital(words.goes_out)} and {words.comes_in}, and no step uses it", tuple(idle))
    yield Section("Tools, task by task", tuple(_tools(view)))
    yield Section("Greatest load", tuple(_loads(world, view)))
    yield Section(_capital(words.comes_in), tuple(_back(view, back)))
    yield Section(_capital(words.stays_out), tuple(_stays(world, view)))
    yield Section("In and on each thing at the end", tuple(_contents(world, view)))
    yield Section("Otherwise than at the start", tuple(_difference(world, view)))


def _used_inside(view: View, thing: Thing, words: Said) -> str:
    """A line that lies inside may have an end that does not stay there."""
    text = f"{label(thing)} - {describe(view.flow.start, thing)}"
    away = thing.kind.ends and any(
        is_inside(state, end) is False
        for _, state in states(view.flow)
        for end in line_ends(state, thing)
        if end is not None
    )
    return f"{text}; an end of it {words.goes_out}" if away else text


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _pack(view: View, out: list[Passage], back: set[Thing]) -> Iterator[Section]:
    words = said(view.world)
    if not out:
        yield Section(_capital(words.goes_out), ())
    leaving = {passage.item: passage for passage in out}
    carriers: dict[Thing | None, list[Passage]] = {}
    for passage in out:
        carriers.setdefault(passage.carrier, []).append(passage)
    crew = [member.actor for member in view.excursion.crew]
    for carrier in sorted(carriers, key=lambda actor: crew.index(actor) if actor in crew else len(crew)):
        items: list[Item] = []
        for passage in carriers[carrier]:
            if not any(held.holder in leaving for held in passage.held):
                items += _with_content(view, passage, leaving, back, 0)
        on = label(carrier) if carrier is not None else "nobody"
        yield Section(f"{_capital(words.goes_out)} on {on}", tuple(items))


def _with_content(
    view: View, passage: Passage, leaving: dict[Thing, Passage], back: set[Thing], depth: int
) -> Iterator[Item]:
    how = ", ".join(f"by {held.manner}" for held in passage.held if held.manner and depth == 0)
    how = how if passage.held else "by an end of it"
    words = said(view.world)
    fate = words.comes_back if passage.item in back else f"{words.stays_out}: {describe(view.flow.end, passage.item)}"
    until = _until(view, passage.item) if passage.item not in back else ""
    yield Item(f"{label(passage.item)}{f' ({how})' if how else ''} - {fate}{until}", depth, True)
    for other in leaving.values():
        if any(held.holder is passage.item for held in other.held):
            yield from _with_content(view, other, leaving, back, depth + 1)


def _until(view: View, item: Thing) -> str:
    told = next((left for left in view.excursion.left_outside if left.thing is item), None)
    return f" (until {told.until})" if told is not None and told.until else ""


def _back(view: View, back: list[Passage]) -> Iterator[Item]:
    for passage in back:
        who = f"with {label(passage.carrier)}" if passage.carrier is not None else "on nobody"
        again = "" if is_inside(view.flow.start, passage.item) else f"was {said(view.world).outside} before; "
        yield Item(f"{label(passage.item)} - {again}{who}; then {describe(view.flow.end, passage.item)}", box=True)


def _stays(world: World, view: View) -> Iterator[Item]:
    """What hangs elsewhere outside than at the start, or was inside then: which step left it there, and why."""
    start, end = view.flow.start, view.flow.end
    changed = set(moved(world, view))
    for thing in world.things:
        if thing.sort != "item" or is_inside(end, thing) is not False:
            continue
        if thing not in changed and is_inside(start, thing) is False:
            continue
        yield Item(f"{label(thing)} - {describe(end, thing)}{_until(view, thing)}")
        step = _last_change(view, thing)
        if step is not None:
            why = f": {step.entry.because}" if step.entry.because else ""
            yield Item(f"by {labels(step.cast)}, {step_text(step)}{why}", 1, source=source_place(step.entry.at))


def _last_change(view: View, thing: Thing) -> Step | None:
    own = {var for var in (thing.held_var, thing.from_var, thing.to_var) if var >= 0}
    return next((s for s in reversed(view.flow.steps) if any(c.var in own for c in s.changes)), None)


def _contents(world: World, view: View) -> Iterator[Item]:
    start, end = view.flow.start, view.flow.end
    for holder in world.things:
        if holder.sort != "item":
            continue
        now = [thing for thing, _ in contents(world, end, holder)]
        before = [thing for thing, _ in contents(world, start, holder)]
        if not now and not before:
            continue
        yield Item(f"{label(holder)}: {', '.join(label(one) for one in now) or 'nothing'}")
        came, gone = [t for t in now if t not in before], [t for t in before if t not in now]
        if came or gone:
            words = [f"new: {', '.join(label(one) for one in came)}"] if came else []
            words += [f"no longer: {', '.join(label(one) for one in gone)}"] if gone else []
            yield Item("; ".join(words), 1)


def _tools(view: View) -> Iterator[Item]:
    for task in view.excursion.tasks:
        found: dict[Thing, dict[Thing, None]] = {}
        for step in view.flow.steps:
            if step.entry.task is task:
                for tool in tools_of(step.action, step.binding):
                    found.setdefault(tool, {})[step.cast[0]] = None
        if found:
            words = [f"{label(tool)} ({labels(list(who))})" for tool, who in found.items()]
            yield Item(f"{task.title}: {', '.join(words)}", source=source_place(task.decl))


def _loads(world: World, view: View) -> Iterator[Item]:
    """For each actor and each sum that its kind bounds: the greatest in the nominal order, and after which step."""
    most: dict[tuple[Thing, str], tuple[Fraction, Step | None]] = {}
    actors = [actor for actor in view.own if actor.kind.carries]

    def weigh(state: Any, step: Step | None) -> None:
        for actor in actors:
            for carry in actor.kind.carries:
                load = _load(world, state, actor, carry.prop)
                if load > most.get((actor, carry.prop), (Fraction(-1), None))[0]:
                    most[actor, carry.prop] = (load, step)

    weigh(view.flow.start, None)
    for step, state in states(view.flow):
        if any(world.variables[change.var].sort != "property" for change in step.changes):
            weigh(state, step)
    for actor in actors:
        for carry in actor.kind.carries:
            load, at = most[actor, carry.prop]
            when = "at the start"
            if at is not None and view.times is not None:
                when = (
                    f"from {clock(view.times.end[at.index], view.times.end_open[at.index])} on, after: {step_text(at)}"
                )
            limit = carry.limit.text + marked(carry.origin)
            words = f"{label(actor)}, {carry.prop}: {_amount(carry, load)} of at most {limit}, {when}"
            yield Item(words, source=source_place(at.entry.at) if at is not None else "")


def _load(world: World, state: Any, holder: Thing, prop: str) -> Fraction:
    """The property summed over everything aboard, at any depth; each thing once."""
    seen = {holder}
    queue = [holder]
    total = Fraction(0)
    for one in queue:
        for thing, _ in contents(world, state, one):
            if thing not in seen:
                seen.add(thing)
                queue.append(thing)
                value = property_in(state, thing, prop)
                total += value if isinstance(value, Fraction) else 0
    return total


def _amount(carry: Carry, value: Fraction) -> str:
    """In the unit that the bound is written in, where it has one."""
    words = carry.limit.text.split()
    if len(words) == 2 and carry.limit.value:
        return f"{three_digits(value / carry.limit.value * Fraction(words[0]))} {words[1]}"
    return number(value)


def _difference(world: World, view: View) -> Iterator[Item]:
    """Where each thing is that has moved by itself, and each property that is set otherwise."""
    start, end = view.flow.start, view.flow.end
    for thing in moved(world, view):
        yield Item(f"{label(thing)}: {describe(start, thing)} -> {describe(end, thing)}")
    for var in world.variables:
        if var.sort == "property" and start[var.id] != end[var.id]:
            prop = var.thing.kind.properties.get(var.prop)
            before, after = (value_text(state[var.id], prop, var.thing) for state in (start, end))
            yield Item(f"{var.prop} of {label(var.thing)}: {before} -> {after}")
