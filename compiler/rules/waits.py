"""The two lines that put one step after another: ``says MARK`` on the first, ``on MARK`` on the second."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from jackstay.diagnostics.records import Edit, Fix
from jackstay.flow.records import ExcursionFlow, Step
from jackstay.model.records import AnyOf, Entry, Mark, Thing
from jackstay.rules import naming
from jackstay.source.spans import Span

_COMMENT = re.compile(r'"[^"]*"|(#)')


def wait_for(plan: Any, flow: ExcursionFlow, first: Step, second: Step) -> Fix:
    """Let the second step wait for the first; with edits where two lines of the plan can say so."""
    doer = naming.who(second.binding)
    text = f"let {doer} wait until {naming.who(first.binding)} has called"
    if not (ends_with(flow, first) and begins_with(flow, second)):
        return Fix(f"{text}: a `says` after the one step, an `on` before the other")
    edits = []
    mark = first.entry.says
    name = mark.name if mark is not None else fresh(flow, first.entry)
    if mark is None:
        says = append(plan, first.entry.at, f", says {name}")
        if says is None:
            return Fix(text)
        edits.append(says)
    elif mark.task is not first.entry.task:
        return Fix(text)
    full = name if first.entry.task is second.entry.task else f"{first.entry.task.name}.{name}"
    waits = append(plan, second.entry.at, f", on {full}")
    if waits is None:
        return Fix(text)
    return Fix(f"{text} {name}", (*edits, waits))


def fresh(flow: ExcursionFlow, entry: Entry, also: Iterable[str] = ()) -> str:
    """A mark that nobody says yet, from the step's own words; none of ``also`` either."""
    words = [w for w in naming.entry_words(entry) if re.fullmatch(r"[a-z][a-z0-9-]*", w)]
    if entry.action is None:
        words = [_first_doer(entry), *words[2:3]] if len(words) > 2 else [_first_doer(entry), "ready"]
    else:
        things = [w.name for w in entry.binding[2:] if isinstance(w, (Thing, AnyOf))]
        words = [words[0] if words else "step", *things[:1]]
    stem = "-".join(words)[:40].rstrip("-")
    taken = {mark.name for mark in flow.excursion.marks} | {task.name for task in flow.excursion.tasks} | set(also)
    name, n = stem, 2
    while name in taken or name in _RESERVED:
        name, n = f"{stem}-{n}", n + 1
    return name


_RESERVED = frozenset(["a", "at", "in", "on"])


def _first_doer(entry: Entry) -> str:
    actor = entry.binding[0]
    return str(getattr(actor, "name", "crew"))


def ends_with(flow: ExcursionFlow, step: Step) -> bool:
    """Whether a mark on the step's line names an end that the step is over by."""
    entry = step.entry
    if entry.routine_at is not None or entry.at.path.startswith("stdlib:"):
        return False
    own = [s for s in flow.steps if s.entry is entry]
    written = [s for s in own if not s.inserted]
    if entry.action is None:
        together = [e for e in flow.excursion.entries if e.action is None and e.at == entry.at and not e.hole]
        return together[-1:] == [entry]
    return bool(written) and step.index <= written[-1].index


def begins_with(flow: ExcursionFlow, step: Step) -> bool:
    """Whether a wait on the step's line holds the step back, and nobody else whom the first step may need."""
    entry = step.entry
    if entry.routine_at is not None or entry.at.path.startswith("stdlib:"):
        return False
    same = [e for e in flow.excursion.entries if e.at == entry.at]
    return same == [entry]


def append(plan: Any, at: Span, text: str) -> Edit | None:
    """The text at the end of a statement: before a comment, after its continuation lines."""
    source = plan.sources.get(at.path)
    if source is None or not 0 < at.line <= len(source.lines):
        return None
    row = at.line - 1
    indent = _indent(source.lines[row])
    while row + 1 < len(source.lines):
        following = source.lines[row + 1]
        if _indent(following) <= indent or not re.match(r"\s*(and|or|then)\b", following):
            break
        row += 1
    line = source.lines[row]
    end = len(line)
    for found in _COMMENT.finditer(line):
        if found[1]:
            end = found.start()
            break
    end = len(line[:end].rstrip())
    return Edit(Span(at.path, row + 1, end, end), text)


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))


def said(mark: Mark) -> str:
    """A call as it is spoken of: its name in quotes."""
    return f"“{mark.name}”"
