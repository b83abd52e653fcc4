"""The sheets that a plan's forms ask for, filled in from the plan: one for each excursion and form, text and page.

What stands under which heading is the form's own business (`flow.forms`); here it gets its words."""

from __future__ import annotations

from html import escape
from typing import Any, NamedTuple

from jackstay.flow.forms import Row, sheets
from jackstay.model.records import Origin, World
from jackstay.outputs.clock import clock
from jackstay.outputs.deck_html import whole
from jackstay.outputs.frame import Frame
from jackstay.outputs.heads import excursion_head, frame_of_time
from jackstay.outputs.paper import heading, wrap
from jackstay.outputs.situation import describe
from jackstay.outputs.views import View
from jackstay.outputs.wording import caller, entry_text, label, labels, spoken, step_text, value_text
from jackstay.outputs.words import said

ABOUT = (
    "Filled in from the plan; what has a line is written by hand. It counts for nothing until those who have to have "
    "checked it, completed it and signed it. A heading that the plan leaves empty says so."
)
NOTHING = "NOTHING IS SAID HERE"
LINE = "_" * 18
DAY_MINUTES = 60


class Box(NamedTuple):
    """A heading with its rows. lines: what is written by hand, behind each row (or once, where there is none)."""

    title: str
    source: str
    rows: tuple[str, ...]
    lines: tuple[str, ...]

    def written(self) -> list[tuple[str, bool]]:
        """What is printed, and whether it is to be written on."""
        blanks = "   ".join(f"{text}: {LINE}" for text in self.lines)
        found: list[tuple[str, bool]] = []
        for row in self.rows or ((NOTHING,) if not self.lines else ()):
            found.append((row, False))
            if blanks:
                found.append((blanks, True))
        return found or [(blanks, True)]


def forms(world: World, views: list[View], frame: Frame) -> dict[str, str]:
    """``form-<form>-<excursion>.txt`` and ``.html``"""
    made: dict[str, str] = {}
    for view in views:
        for sheet in sheets(world, view.flow):
            form = sheet.form
            boxes = [
                Box(
                    head.title,
                    _source(head.origin),
                    tuple(_words(row, view) for row in sheet.rows[head.name]),
                    head.blanks,
                )
                for head in form.headings.values()
            ]
            name = f"form-{form.name}-{view.excursion.name}"
            made[f"{name}.txt"] = _text(form.title, _source(form.origin), boxes, view, len(views), frame)
            made[f"{name}.html"] = _page(form.title, _source(form.origin), boxes, view, len(views), frame)
    return made


def _text(title: str, source: str, boxes: list[Box], view: View, of: int, frame: Frame) -> str:
    lines = frame.head(title)
    lines += wrap(ABOUT)
    lines += wrap(f"After {source}.") if source else []
    lines += ["", *excursion_head(view, of)]
    for number, box in enumerate(boxes, start=1):
        lines += ["", *heading(f"{number} {box.title}", box.source)]
        for words, blank in box.written():
            lines += ["", *wrap(words, "      ")] if blank else wrap(words, "  - ")
    return "\n".join([*lines, *frame.foot()]) + "\n"


def _page(title: str, source: str, boxes: list[Box], view: View, of: int, frame: Frame) -> str:
    word, excursion = said(view.world).heading, view.excursion
    about = ABOUT + (f" After {source}." if source else "")
    body = [f'<section class="part"><h2>{escape(excursion.title)}</h2>']
    body.append(f'<p class="plan">{escape(f"{word} {view.number} of {of} · {excursion.name}")}</p>')
    body.append(f"<p>{escape(frame_of_time(excursion))}</p>")
    for number, box in enumerate(boxes, start=1):
        id = f"box-{number}"
        at = f'<span class="at">{escape(box.source)}</span>' if box.source else ""
        body.append(f'<section class="card short" aria-labelledby="{id}">')
        body.append(f'<h3 id="{id}">{number} <b>{escape(box.title)}</b>{at}</h3><ul class="list">')
        for words, blank in box.written():
            body.append(f'<li class="deep{int(blank)}">{escape(words)}</li>')
        body.append("</ul></section>")
    body.append("</section>")
    return whole(escape(title), title, f'<p class="how">{escape(about)}</p>', body, frame)


def _source(origin: Origin | None) -> str:
    return "" if origin is None else origin.text + ("" if origin.verified else " (unverified)")


def _words(row: Row, view: View) -> str:
    what: Any = row.what
    if row.sort in _SAID:
        return str(_SAID[row.sort](what, view))
    if row.sort == "property":
        value = what.texts.get(row.prop) or value_text(what.values.get(row.prop), what.kind.properties[row.prop], what)
        return f"{label(what)}: {value}"
    return str(what)


def _date(begins: Any, view: View) -> str:
    minutes = int(begins.time // DAY_MINUTES)
    return f"{begins.date}, from {minutes // 60:02d}:{minutes % 60:02d}"


def _task(task: Any, view: View) -> str:
    return str(task.title) + ("" if task.rank == "required" else f" ({task.rank}: may be dropped)")


def _member(member: Any, view: View) -> str:
    return f"{label(member.actor)}, {member.actor.kind.title.lower()}" + (f" ({member.role})" if member.role else "")


def _step(step: Any, view: View) -> str:
    when = f"{clock(view.times.start[step.index])}  " if view.times is not None else ""
    return f"{when}{labels(step.cast)}: {step_text(step)}"


def _reading(entry: Any, view: View) -> str:
    source = _source(entry.action.expects_origin)
    steps = view.of_entry.get(entry.index, [])
    when = f"{clock(view.times.start[steps[-1].index])}  " if steps and view.times is not None else ""
    return f"{when}{labels(entry.cast)}: {entry_text(entry)}, acceptable {entry.expect.text}" + (
        f"; the limits are {entry.action.expects.text} ({source})"
        if source and entry.action.expects is not None
        else ""
    )


def _rule(rule: Any, view: View) -> str:
    source = _source(rule.origin)
    return str(rule.title) + (f" ({source})" if source else "")


def _hazard(hazard: Any, view: View) -> str:
    source = _source(hazard.origin)
    return str(hazard.title) + (f" ({source})" if source else "")


def _mark(mark: Any, view: View) -> str:
    return f"{caller(mark)} calls “{spoken(mark)}”"


_SAID = {
    "excursion": lambda excursion, view: f"{excursion.title} ({view.world.title})",
    "date": _date,
    "limit": lambda excursion, view: f"at most {excursion.limit.text}, counted from {excursion.clock or 'the start'}",
    "tasks": _task,
    "crew": _member,
    "things": lambda thing, view: label(thing) + _where(thing, view),
    "warnings": lambda remark, view: f"{remark.sort.upper()}: {remark.text}",
    "rules": _rule,
    "hazards": _hazard,
    "readings": _reading,
    "calls": _mark,
    "fallbacks": lambda fallback, view: f"When: {fallback.title}. See the card “{fallback.name}”.",
    "steps": _step,
}


def _where(thing: Any, view: View) -> str:
    return f" - {describe(view.flow.start, thing)}" if thing.sort == "item" else ""
