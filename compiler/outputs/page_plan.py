"""The review page's data: everything the page shows of a plan, as one document that JSON can hold."""

from __future__ import annotations

import json
from typing import Any

from jackstay.diagnostics.aside import PLAN, Aside
from jackstay.diagnostics.records import Diagnostic
from jackstay.model.records import Fallback, Task, World
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import frame_of_time
from jackstay.outputs.look import actor_styles
from jackstay.outputs.order_graph import graph_of
from jackstay.outputs.page_courses import clock_data, courses_data
from jackstay.outputs.page_state import custody_data, end_data, phases_data, places_data, start_data, things_data
from jackstay.outputs.page_steps import delays_data, steps_data
from jackstay.outputs.page_words import Files, Words
from jackstay.outputs.views import NOT_WORKED_OUT, View
from jackstay.outputs.wording import bound_text, caller, entry_text, labels, spoken, where_to

SCHEMA = "jackstay.review/1"


def plan_data(checked: Any, views: list[View], frame: Frame, forecast: dict[str, Any] | None) -> dict[str, Any]:
    """forecast: as `forecast.as_json` writes it."""
    world: World = checked.world
    words, files = Words(), Files(checked.sources)
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "title": frame.title,
        "identity": frame.identity,
        "unchecked": frame.unchecked,
        "warning": frame.warning,
        "tally": frame.tally,
        "figures": frame.figures,
        "said": [frame.said.excursion, frame.said.excursions, frame.said.inside, frame.said.outside],
        "things": things_data(world, actor_styles(views, world.things), files),
        "places": places_data(world, views),
        "excursions": [_excursion(world, view, words, files) for view in views],
        "custody": custody_data(world, views, words),
        "findings": [_finding(one, files) for one in checked.diagnostics],
        "forecast": forecast,
    }
    if frame.aside:
        data["aside"] = [_set_aside(one, files) for one in frame.aside]
    data["files"] = files.all  # what the parts above have pointed at
    data["words"] = words.all
    return data


def as_script(data: dict[str, Any]) -> str:
    """JSON that can stand in a script element: nothing in it can end the element or open a comment."""
    text = json.dumps(data, ensure_ascii=False, separators=(",", ":"))
    for sign in "<>&\u2028\u2029":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return text


def _excursion(world: World, view: View, words: Words, files: Files) -> dict[str, Any]:
    excursion = view.excursion
    data: dict[str, Any] = {
        "n": excursion.name,
        "t": excursion.title,
        "a": files(excursion.decl),
        "about": frame_of_time(excursion),
        "crew": [[actor.index, _role(view, actor)] for actor in view.own],
        "tasks": [_task(task, files) for task in excursion.tasks],
        "cards": [_card(one, words, files) for one in excursion.fallbacks],
    }
    if view.times is None:
        return data | {"not": NOT_WORKED_OUT}
    graph = graph_of(view)
    home = {card.fallback.name: card for card in graph.cards}
    for card in data["cards"]:
        card["from"] = [[index, words(outcome)] for index, outcome in home[card["n"]].callers]
        card["home"] = home[card["n"]].home
    return data | {
        "clock": clock_data(view),
        "courses": courses_data(world, view),
        "phases": phases_data(world, view),
        "start": start_data(world, view),
        "steps": steps_data(world, view, words, files),
        "delays": delays_data(view, words),
        "nodes": [
            [node.index, node.sort, [one.index for one in node.before], [one.index for one in node.after]]
            for node in graph.nodes.values()
        ],
        "links": [
            [
                link.tail,
                link.head,
                link.sort,
                link.actor.index if link.actor is not None else -1,
                words(spoken(link.mark)) if link.mark is not None else -1,
                1 if link.critical else 0,
            ]
            for link in graph.links
        ],
        "end": end_data(world, view, files),
    }


def _role(view: View, actor: Any) -> str:
    return next((member.role or "" for member in view.excursion.crew if member.actor is actor), "")


def _task(task: Task, files: Files) -> dict[str, Any]:
    data: dict[str, Any] = {"n": task.name, "t": task.title, "rank": task.rank, "a": files(task.decl)}
    if task.after:
        data["after"] = [one.title for one in task.after]
    if task.done_when:
        data["done"] = [test.text for test in task.done_when]
    if task.bounds:
        data["bd"] = [bound_text(bound) for bound in task.bounds]
    return data


def _card(fallback: Fallback, words: Words, files: Files) -> dict[str, Any]:
    """steps: [who, words, heading, line]."""
    return {
        "n": fallback.name,
        "t": fallback.title,
        "a": files(fallback.decl),
        "instead": [task.title for task in fallback.instead],
        "then": [task.title for task in fallback.then],
        "mark": f'{caller(fallback.mark)}: "{spoken(fallback.mark)}"' if fallback.mark is not None else "",
        "steps": [
            [
                words(labels(entry.cast)),
                words(entry_text(entry)),
                words(where_to(entry.block)),
                files(entry.at),
                [[remark.sort, words(remark.text)] for remark in entry.remarks],
                [actor.index for actor in entry.cast],
            ]
            for entry in fallback.body.entries
        ],
    }


def _set_aside(one: Aside, files: Files) -> dict[str, Any]:
    """why: who decided what; where: the line that says so, of the plan's own."""
    data = _finding(one.finding, files) | {"how": one.how.value, "why": one.decision}
    return data | ({"where": files(one.at)} if one.by == PLAN and one.at.path else {})


def _finding(told: Diagnostic, files: Files) -> dict[str, Any]:
    data: dict[str, Any] = {
        "rule": told.rule,
        "sev": told.severity.value,
        "msg": told.message,
        "at": files.stretch(told.at),
        "note": told.note,
        "labels": [[files.stretch(label.at), label.text] for label in told.labels],
        "events": [[one.number, one.actor, one.text, one.leaves, files(one.at)] for one in told.events],
        "because": told.because,
        "help": [[fix.text, [[files.stretch(edit.at), edit.text] for edit in fix.edits]] for fix in told.help],
    }
    return {key: value for key, value in data.items() if value not in ("", [], None)}
