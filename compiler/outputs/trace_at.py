"""``trace --at``: where one thing surely is, may be, and never is when a certain step begins."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from jackstay.flow.records import Step
from jackstay.model.records import Thing, World
from jackstay.outputs.frame import frame_of
from jackstay.outputs.heads import excursion_head
from jackstay.outputs.moment import Moment, Outcome, TooMany, Unordered
from jackstay.outputs.paper import row, wrap
from jackstay.outputs.situation import bearers, describe, states
from jackstay.outputs.trace import followed, named
from jackstay.outputs.views import View, is_anchor, views_of
from jackstay.outputs.wording import label, labels, source_place, step_text, value_text

MEANS = (
    "When the step begins, in whatever timing the text allows. surely: always. maybe: in some timing, with the steps "
    "that decide it. never: at other times of this excursion, but not then. While a step that changes it is under way, "
    "it is no longer surely the one and not yet the other."
)
INDENT = " " * 12
FEW = 8
Question = Callable[[Sequence[Any]], Any]


class NoStepThere(LookupError):
    """Nothing begins at that line."""


def trace_at(checked: Any, thing_name: str, path: str, line: int) -> str:
    """A page of text. checked: as for `build`. Raises `UnknownThing`, `NotFollowed`, `NoStepThere` (`LookupError`s)."""
    world: World = checked.world
    thing = named(world, thing_name)
    flow = followed(checked)
    frame = frame_of(checked, unchecked=any(one.severity == "error" for one in checked.diagnostics))
    lines = frame.head(f"Where it may be: {label(thing)} ({thing.kind.name}, {source_place(thing.decl)})")
    lines += wrap(MEANS)
    views = views_of(flow)
    changing = {change.var for view in views for step in view.flow.steps for change in step.changes}
    asked = questions(thing, changing)
    found = False
    for view in views:
        steps = _begun_at(view, path, line)
        if steps and view.times is not None:
            found = True
            lines += ["", *excursion_head(view, len(views))]
            for step in steps:
                lines += ["", *_moment(view, asked, step)]
    if not found:
        raise NoStepThere(f"no step begins at {path}:{line}: name the line on which one is written")
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _begun_at(view: View, path: str, line: int) -> list[Step]:
    """The steps written on that line; of an arrival, the first step of each one's way."""

    def there(at: Any) -> bool:
        return at is not None and at.line == line and (path == at.path or path.endswith(f"/{at.path}"))

    return [
        step
        for step in view.flow.steps
        if (there(step.entry.at) or there(step.entry.routine_at)) and is_anchor(view, step.cast[0], step)
    ]


def _moment(view: View, asked: list[Question], step: Step) -> list[str]:
    mark = "> " if step.inserted else ""
    lines = row(f"{mark}{labels(step.cast)}: {step_text(step)}", "  ", source_place(step.entry.at))
    moment = Moment(view.flow, step)
    for question in asked:
        lines += _answer(view, moment, question)
    if not asked:
        lines += wrap("it is a place, and no step changes how it is set", "    surely  ")
    return lines


def questions(thing: Thing, changing: set[int]) -> list[Question]:
    """Where it is and who has it; then each property that some step changes."""
    asked: list[Question] = []
    if thing.sort != "location":
        asked.append(lambda state: whereabouts(state, thing))
    asked += [_setting(thing, prop, var) for prop, var in thing.prop_vars.items() if var in changing]
    return asked


def whereabouts(state: Sequence[Any], thing: Thing) -> str:
    text = describe(state, thing)
    if thing.sort != "item":
        return text
    who = bearers(state, thing)
    return f"{text}; {labels(who) or 'nobody'} {'have' if len(who) > 1 else 'has'} it"


def _setting(thing: Thing, prop: str, var: int) -> Question:
    return lambda state: f"{prop} is {value_text(state[var], thing.kind.properties.get(prop), thing)}"


def _answer(view: View, moment: Moment, ask: Question) -> list[str]:
    try:
        outcomes, read = moment.outcomes(ask)
    except Unordered:
        return wrap("not known: steps that nothing orders change what it turns on (may-come-first)", "    not known  ")
    except TooMany:
        return wrap("not decided: too many combinations of steps to try them all", "    not decided  ")
    lines: list[str] = []
    for outcome in outcomes:
        lines += wrap(outcome.answer, "    surely  " if len(outcomes) == 1 else "    maybe   ", INDENT)
        if len(outcomes) > 1:
            lines += _deciding(outcome)
    for var in read:
        for step in moment.under_way(var):
            lines += row(f"is being changed then: {_told(step)}", INDENT, source_place(step.entry.at))
    possible = {outcome.answer for outcome in outcomes}
    others = [ask(view.flow.start), *(ask(state) for _, state in states(view.flow))]
    never = [one for one in dict.fromkeys(others) if one not in possible]
    for one in never[:FEW]:
        lines += wrap(one, "    never   ", INDENT)
    if len(never) > FEW:
        lines += wrap(f"nor any of {len(never) - FEW} others of this excursion", INDENT)
    return lines


def _deciding(outcome: Outcome) -> list[str]:
    lines: list[str] = []
    for word, steps in (("if this is over: ", outcome.over), ("if this is not: ", outcome.not_over)):
        for step in sorted(set(steps), key=lambda one: one.index):
            lines += row(word + _told(step), f"{INDENT}  ", source_place(step.entry.at))
    if outcome.ways > 1:
        more = outcome.ways - 1
        lines += wrap(f"or in {more} other way{'' if more == 1 else 's'}", f"{INDENT}  ")
    return lines


def _told(step: Step) -> str:
    return f"{'> ' if step.inserted else ''}{labels(step.cast)}: {step_text(step)}"
